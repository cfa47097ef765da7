"""Squawks of all sessions: what is open, what became of each, and their recordings.

Rule of this file: what happened in a session is read from its facts, what was
done by command from `acts`; both are for ever, and a squawk is what they add up
to in the order of their wall times. A squawk goes by "session.number".
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from callout.engine.events import SessionOpened
from callout.logbook.clip_sound import Piece
from callout.logbook.codec import fields_from
from callout.logbook.errors import NoSuchSquawkError
from callout.logbook.squawk_changes import OPENED, Change, changes
from callout.logbook.stamp import RECORDING, Stamp, elapsed
from callout.logbook.store import Logbook

SESSION = "session"
"""Name of the recording of a whole session, in `clips`."""

UNNAMED = "pilot, not named"
"""Who did it where the session was run without --pilot."""

OPEN, CLOSED, DROPPED = "open", "closed", "dropped"

CLOSE, REOPEN, GROUND, TRANSCRIBE, REMOVE = (
    "closed", "reopened", "grounded", "transcribed", "recording removed"
)  # fmt: skip
"""What can be done by command, as it stands in `acts`."""


@dataclass(frozen=True, slots=True)
class Step:
    """One line of a squawk's history: when (UTC), what, by whom, how; "" where not told."""

    wall: str
    what: str
    who: str = ""
    how: str = ""


@dataclass(frozen=True, slots=True)
class Squawk:
    """One squawk as it stands.

    Fields:
        session, number: which; `key` is both
        aircraft: whose
        opened: when
        about, where, called: item, station, and what was in hand by name
        state: OPEN, CLOSED or DROPPED (taken back as it was opened)
        text, kind: what is written of it: "typed" by a person or "unverified"
        grounds: it grounds the aircraft while it is open
        ended: how its recording ended; "" if that was never written down
        until: session time at which it ended (s); None: to the end of what there is
        seconds: length of what is kept of its recording
        history: oldest first
    """

    session: int
    number: int
    aircraft: str
    opened: Stamp
    about: str
    where: str
    called: str
    state: str = OPEN
    text: str = ""
    kind: str = ""
    grounds: bool = False
    ended: str = ""
    until: float | None = None
    seconds: float = 0.0
    history: tuple[Step, ...] = ()

    @property
    def key(self) -> str:
        """Its name: "12.1"."""
        return f"{self.session}.{self.number}"

    @property
    def removed(self) -> bool:
        """Whether its recording was removed."""
        return any(step.what == REMOVE for step in self.history)


def squawks(logbook: Logbook, session: int | None = None) -> list[Squawk]:
    """Every squawk (of a session, if one is given), oldest first, as it stands."""
    found = changes(logbook)
    of_session = f"{session}."
    return _made(
        logbook, {k: v for k, v in found.items() if session is None or k.startswith(of_session)}
    )


def open_squawks(logbook: Logbook, aircraft: str | None = None) -> list[Squawk]:
    """Those that are open (of an aircraft, if one is given), oldest first.

    A logbook of many years has thousands that are closed: of them no more is read than
    that they are.
    """
    found = {key: some for key, some in changes(logbook).items() if _state(some) == OPEN}
    return [one for one in _made(logbook, found) if aircraft in (None, one.aircraft)]


def squawk(logbook: Logbook, key: str) -> Squawk:
    """The squawk of this key; NoSuchSquawkError if there is none."""
    found = changes(logbook)
    if key not in found:
        raise NoSuchSquawkError(
            f"The logbook {logbook.path} holds no squawk {key}; `callout squawk list --all` "
            "shows which there are."
        )
    return _made(logbook, {key: found[key]})[0]


def told(
    logbook: Logbook, aircraft: str, now: Stamp
) -> tuple[tuple[str, str, str, str, int, str, str, bool, bool], ...]:
    """Those of an aircraft that are open, as SessionOpened takes them.

    What comes from a recording is nobody's past.
    """
    return tuple(
        (one.key, one.about, one.where, one.called, round(elapsed(one.opened, now) // 86400),
         one.text, one.kind, one.grounds, one.seconds > 0)
        for one in open_squawks(logbook, aircraft)
        if one.opened.boot_id != RECORDING
    )  # fmt: skip


def act(logbook: Logbook, squawk: Squawk, what: str, who: str, how: str, now: Stamp) -> None:
    """Write down what is done by command, durable on return.  Raises LogbookError."""
    when = (now.now, now.wall, now.boot, now.boot_id)
    with logbook.writing():
        logbook.put("acts", (None, squawk.session, squawk.number, what, who, how, *when))


def keep(logbook: Logbook, session: int, name: str, pieces: Iterable[Piece], now: Stamp) -> None:
    """Write pieces of a recording, durable on return.  Raises LogbookError."""
    when = (now.now, now.wall, now.boot, now.boot_id)
    with logbook.writing():
        for one in pieces:
            row = (session, name, one.form, one.began, one.seconds, one.sound)
            logbook.put("clips", (None, *row, *when))


def drop(logbook: Logbook, session: int, name: str) -> None:
    """Remove a recording that was taken back as it was made."""
    query = "DELETE FROM clips WHERE session = ? AND name = ? RETURNING piece"
    with logbook.writing():
        logbook.erase(query, session, name)


def drop_taken_back(logbook: Logbook, session: int) -> None:
    """Remove what a kill left of squawks of this session that were taken back."""
    for one in squawks(logbook, session):
        if one.state == DROPPED:
            drop(logbook, session, str(one.number))


def pieces(logbook: Logbook, session: int, name: str) -> list[Piece]:
    """The pieces of a recording, in order."""
    if not logbook.has("clips"):
        return []
    query = (
        "SELECT format, began, seconds, sound FROM clips WHERE session = ? AND name = ? "
        "ORDER BY piece"
    )
    rows = logbook.select(query, session, name)
    return [Piece(form, began, length, bytes(sound)) for form, began, length, sound in rows]


def kept_seconds(logbook: Logbook, session: int) -> float:
    """Seconds that are kept of the sound of a whole session; no sound is read for it."""
    if not logbook.has("clips"):
        return 0.0
    query = "SELECT coalesce(sum(seconds), 0) FROM clips WHERE session = ? AND name = ?"
    return float(next(logbook.select(query, session, SESSION))[0])


def kept_to(logbook: Logbook, session: int, name: str) -> float | None:
    """Session time up to which a recording is on the disk; None if nothing of it is."""
    query = "SELECT max(began + seconds) FROM clips WHERE session = ? AND name = ?"
    (end,) = next(logbook.select(query, session, name))
    return None if end is None else float(end)


def _made(logbook: Logbook, found: Mapping[str, Sequence[Change]]) -> list[Squawk]:
    """The squawks that these changes make."""
    whose: dict[int, tuple[str, str]] = {}
    made = []
    for key, some in found.items():
        one: Squawk | None = None
        for change in some:
            if change.session not in whose:
                whose[change.session] = _whose(logbook, change.session)
            one = _after(one, change, int(key.partition(".")[2]), *whose[change.session])
        assert one is not None  # the first change opened it
        made.append(replace(one, seconds=_length(logbook, one)))
    return made


def _whose(logbook: Logbook, session: int) -> tuple[str, str]:
    """Aircraft and pilot of a session."""
    query = (
        "SELECT s.aircraft, (SELECT data FROM entries e WHERE e.session = s.session "
        "AND kind = 'event' AND name = 'SessionOpened' ORDER BY seq LIMIT 1) "
        "FROM sessions s WHERE s.session = ?"
    )
    aircraft, text = next(logbook.select(query, session))
    return str(aircraft), (fields_from(SessionOpened, text).pilot if text else "") or UNNAMED


def _length(logbook: Logbook, one: Squawk) -> float:
    """How much of its recording is there, up to its end (s)."""
    if not logbook.has("clips"):
        return 0.0
    query = "SELECT min(began), sum(seconds) FROM clips WHERE session = ? AND name = ?"
    began, kept = next(logbook.select(query, one.session, str(one.number)))
    if kept is None:
        return 0.0
    return float(kept) if one.until is None else max(0.0, min(kept, one.until - began))


_WHAT = {
    "squawk kept": "kept",
    "squawk noted": "noted",
    "squawk dropped": "dropped",
    "squawk closed": CLOSE,
    "squawk reopened": REOPEN,
    "aircraft grounded": GROUND,
    TRANSCRIBE: "written down by a machine, unverified",
    "grounding taken back": "grounding taken back",
}

_LEADS_TO = {OPENED: OPEN, "dropped": DROPPED, CLOSE: CLOSED, REOPEN: OPEN}


def _state(some: Sequence[Change]) -> str:
    """What a squawk has come to."""
    words = (_WHAT.get(one.what, one.what) for one in some)
    return [_LEADS_TO[what] for what in words if what in _LEADS_TO][-1]


def _after(
    one: Squawk | None, change: Change, number: int, aircraft: str, pilot: str
) -> Squawk:  # fmt: skip
    """The squawk after a change; `pilot` is that of the session in which it was written."""
    data, wall = change.data, change.stamp.wall
    who = pilot if change.fact else data["who"]
    if change.what == OPENED or one is None:
        return Squawk(
            change.session, number, aircraft, change.stamp, change.about,
            data.get("where", ""), data.get("called", ""),
            history=(Step(wall, "opened", who),),
        )  # fmt: skip
    what, how = _WHAT.get(change.what, change.what), data.get("text", data.get("how", ""))
    one = replace(one, history=(*one.history, Step(wall, what, who, how)))
    if what in _LEADS_TO:
        return replace(one, state=_LEADS_TO[what])
    match what:
        case "kept":
            return replace(one, ended=how, until=float(data["until"]))
        case "noted":
            return replace(one, text=f"{one.text} {how}".strip(), kind="typed")
        case "written down by a machine, unverified":
            unwritten = one.kind in ("", "unverified")
            return replace(one, text=how, kind="unverified") if unwritten else one
        case "grounded":
            return replace(one, grounds=True)
        case "grounding taken back":
            return replace(one, grounds=False)
    return one
