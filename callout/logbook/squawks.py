"""Squawks of all sessions: what is open, what became of each, and their recordings.

Rule of this file: what happened in a session is read from its facts, what was
done by command from `acts`; both are for ever, and a squawk is what they add up
to in the order of their wall times. A squawk goes by "session.number".
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace

from callout.engine.events import SessionOpened
from callout.logbook.clip_sound import Piece
from callout.logbook.codec import fields_from
from callout.logbook.errors import NoSuchSquawkError
from callout.logbook.origins import Origins
from callout.logbook.rows import entry_from, fact_of
from callout.logbook.squawk_tables import OF_SQUAWKS
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
    reading = _Reading(Origins(logbook))
    changes = [*_facts(logbook), *_acts(logbook)]
    for change in sorted(changes, key=lambda one: one.order):
        reading.take(change)
    lengths = _lengths(logbook)
    found = (replace(one, seconds=_length(one, lengths)) for one in reading.found.values())
    return [one for one in found if session is None or one.session == session]


def squawk(logbook: Logbook, key: str) -> Squawk:
    """The squawk of this key; NoSuchSquawkError if there is none."""
    found = next((one for one in squawks(logbook) if one.key == key), None)
    if found is None:
        raise NoSuchSquawkError(
            f"The logbook {logbook.path} holds no squawk {key}; `callout squawk list --all` "
            "shows which there are."
        )
    return found


def told(
    logbook: Logbook, aircraft: str, now: Stamp
) -> tuple[tuple[str, str, str, str, int, str, str, bool, bool], ...]:
    """Those of an aircraft that are open, as SessionOpened takes them.

    What comes from a recording is nobody's past.
    """
    return tuple(
        (one.key, one.about, one.where, one.called, round(elapsed(one.opened, now) // 86400),
         one.text, one.kind, one.grounds, one.seconds > 0)
        for one in squawks(logbook)
        if one.state == OPEN and one.aircraft == aircraft and one.opened.boot_id != RECORDING
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


def kept_to(logbook: Logbook, session: int, name: str) -> float | None:
    """Session time up to which a recording is on the disk; None if nothing of it is."""
    query = "SELECT max(began + seconds) FROM clips WHERE session = ? AND name = ?"
    (end,) = next(logbook.select(query, session, name))
    return None if end is None else float(end)


@dataclass(frozen=True, slots=True)
class _Change:
    order: tuple[str, int, int]
    session: int
    stamp: Stamp
    what: str
    about: str
    data: dict[str, str] = field(default_factory=dict)


_COLUMNS = "seq, session, event, kind, name, about, data, now, wall, boot, boot_id"


def _facts(logbook: Logbook) -> Iterator[_Change]:
    query = f"SELECT {_COLUMNS} FROM entries WHERE {OF_SQUAWKS} ORDER BY seq"  # noqa: S608
    known: dict[int, tuple[str, str]] = {}
    for entry in map(entry_from, logbook.select(query)):
        if entry.session not in known:
            known[entry.session] = _whose(logbook, entry.session)
        aircraft, who = known[entry.session]
        data = {**dict(fact_of(entry).data), "aircraft": aircraft, "who": who}
        opened = entry.name == "squawk opened"  # first of all, however the clock was set since
        order = ("" if opened else entry.stamp.wall, 0, entry.seq)
        yield _Change(order, entry.session, entry.stamp, entry.name, entry.about, data)


def _whose(logbook: Logbook, session: int) -> tuple[str, str]:
    """Aircraft and pilot of a session."""
    query = (
        "SELECT s.aircraft, (SELECT data FROM entries e WHERE e.session = s.session "
        "AND kind = 'event' AND name = 'SessionOpened' ORDER BY seq LIMIT 1) "
        "FROM sessions s WHERE s.session = ?"
    )
    aircraft, text = next(logbook.select(query, session))
    return str(aircraft), (fields_from(SessionOpened, text).pilot if text else "") or UNNAMED


def _acts(logbook: Logbook) -> Iterator[_Change]:
    if not logbook.has("acts"):
        return
    query = "SELECT act, session, squawk, what, who, how, now, wall, boot, boot_id FROM acts"
    for number, session, squawk_, what, who, how, *when in logbook.select(query + " ORDER BY act"):
        stamp = Stamp(*when)
        data = {"squawk": str(squawk_), "who": who, "how": how}
        yield _Change((stamp.wall, 1, number), session, stamp, what, "", data)


def _lengths(logbook: Logbook) -> dict[tuple[int, str], tuple[float, float]]:
    """(session, name) -> when a recording began, and how much of it there is (s)."""
    if not logbook.has("clips"):
        return {}
    query = "SELECT session, name, min(began), sum(seconds) FROM clips GROUP BY session, name"
    return {(row[0], row[1]): (float(row[2]), float(row[3])) for row in logbook.select(query)}


def _length(one: Squawk, lengths: dict[tuple[int, str], tuple[float, float]]) -> float:
    began, seconds = lengths.get((one.session, str(one.number)), (0.0, 0.0))
    return seconds if one.until is None else max(0.0, min(seconds, one.until - began))


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


class _Reading:
    """The squawks on their way through what happened to them."""

    def __init__(self, origins: Origins) -> None:
        self.found: dict[str, Squawk] = {}
        self._origins = origins

    def take(self, change: _Change) -> None:
        """One fact or act."""
        key = change.data.get("squawk", "")
        own = f"{change.session}.{key}"
        key = self._origins.here(change.session, key) if "." in key else own
        if change.what == "squawk opened":
            self.found[key] = self._opened(change, int(key.partition(".")[2]))
        elif key in self.found:
            self.found[key] = _after(self.found[key], change)

    def _opened(self, change: _Change, number: int) -> Squawk:
        data = change.data
        step = Step(change.stamp.wall, "opened", data["who"])
        return Squawk(
            change.session, number, data["aircraft"], change.stamp, change.about,
            data.get("where", ""), data.get("called", ""), history=(step,),
        )  # fmt: skip


def _after(one: Squawk, change: _Change) -> Squawk:
    what, data = _WHAT.get(change.what, change.what), change.data
    how = data.get("text", data.get("how", ""))
    one = replace(
        one, history=(*one.history, Step(change.stamp.wall, what, data.get("who", ""), how))
    )
    match what:
        case "kept":
            return replace(one, ended=how, until=float(data["until"]))
        case "noted":
            return replace(one, text=f"{one.text} {how}".strip(), kind="typed")
        case "written down by a machine, unverified":
            unwritten = one.kind in ("", "unverified")
            return replace(one, text=how, kind="unverified") if unwritten else one
        case "dropped":
            return replace(one, state=DROPPED)
        case "closed":
            return replace(one, state=CLOSED)
        case "reopened":
            return replace(one, state=OPEN)
        case "grounded":
            return replace(one, grounds=True)
        case "grounding taken back":
            return replace(one, grounds=False)
    return one
