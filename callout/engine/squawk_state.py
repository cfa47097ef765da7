"""What a session remembers of squawks: those open, and the one being recorded.

Rule of this file: values and small questions about them; squawk.py and
squawk_open.py decide. A squawk of a past session goes by "session.number", one of
this session by its number alone.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from callout.checklist.model import Aircraft, ListKind
from callout.engine.rules import State

SILENCE = 10.0
"""Seconds without a word after which a squawk is over (common practice, no source): longer
than an ear takes to tell that somebody talks on without a pause (8 to 9 s)."""

LONGEST = 120.0
"""Seconds after which it is over in any case (common practice, no source)."""

LAST_WRITTEN = 3.0
"""Seconds after its end in which the last of a recording is written (running/keeping.py)."""

LONGEST_NOTE = 400
"""Characters of a typed line that are kept."""


@dataclass(frozen=True, slots=True)
class Known:
    """An open squawk.

    Fields:
        key: its name, see above
        about: "list/item" it was opened at; "list" or "" where no item was in hand
        where: station of that item ("" for none)
        called: what was in hand, by name
        days: whole days old when the session began
        text: what is written of it; `kind` says how it came about: "typed" by a person
            or "unverified", out of the recording by a machine
        grounds: the aircraft is grounded by it
        sound: it has a recording, as far as is known
        read: it was read aloud at its station, or opened, in this session
    """

    key: str
    about: str
    where: str
    called: str
    days: int = 0
    text: str = ""
    kind: str = ""
    grounds: bool = False
    sound: bool = True
    read: bool = False


@dataclass(frozen=True, slots=True)
class Recording:
    """The squawk being recorded.

    Fields:
        squawk: as it will stand among the open ones
        began: session time of its first sound (s)
        asked_at: when it was opened (s)
        spoken_at: when somebody was last heard (s)
        back: the state it interrupted
        prompt: the sentence an answer was due to then
    """

    squawk: Known
    began: float
    asked_at: float
    spoken_at: float
    back: State
    prompt: str

    @property
    def due(self) -> float:
        """When it is over if nothing more is said (s)."""
        return min(self.spoken_at + SILENCE, self.began + LONGEST)


@dataclass(frozen=True, slots=True)
class Playing:
    """A recording that is being played: by which Say, and until when at the latest (s)."""

    say: int
    until: float


@dataclass(frozen=True, slots=True)
class Undo:
    """What `disregard` takes back: a squawk as it stood before it was closed or grounding."""

    before: Known
    closed: bool


@dataclass(frozen=True, slots=True)
class Squawks:
    """All of it.

    Fields:
        open: oldest first
        opened: how many were opened in this session
        recording: the one being recorded
        in_hand: key of the one that "play", "close" and "ground" are about ("" for none)
        playing: its recording, while that sounds
        undo: what the last utterance did to one
        ended_at: when the last recording ended (s)
        lost: there is no logbook any more that could keep one
    """

    open: tuple[Known, ...] = ()
    opened: int = 0
    recording: Recording | None = None
    in_hand: str = ""
    playing: Playing | None = None
    undo: Undo | None = None
    ended_at: float | None = None
    lost: bool = False

    def find(self, key: str) -> Known | None:
        """The open squawk of this key."""
        return next((one for one in self.open if one.key == key), None)

    @property
    def hand(self) -> Known | None:
        """The squawk in hand."""
        return self.find(self.in_hand)

    @property
    def grounding(self) -> tuple[Known, ...]:
        """Those that ground the aircraft."""
        return tuple(one for one in self.open if one.grounds)

    def put(self, known: Known) -> Squawks:
        """With this one as it now is, in its place or behind the others."""
        if self.find(known.key) is None:
            return replace(self, open=(*self.open, known))
        changed = (known if one.key == known.key else one for one in self.open)
        return replace(self, open=tuple(changed))

    def without(self, key: str) -> Squawks:
        """Without this one; the next one is in hand."""
        left = tuple(one for one in self.open if one.key != key)
        hand = self.in_hand if self.in_hand != key else (left[0].key if left else "")
        return replace(self, open=left, in_hand=hand)


def closed_lists(aircraft: Aircraft) -> tuple[str, ...]:
    """The lists that a grounded aircraft's do not open: those declared, else those of a start.

    Never an abort or emergency list, and by default none that follows a start: what
    flies or runs must be brought down and shut down.
    """
    declared = aircraft.settings.grounding_closes
    if declared is not None:
        return declared
    watched = aircraft.start_watch.list_id if aircraft.start_watch is not None else ""
    return tuple(
        one.id
        for one in aircraft.lists
        if one.kind is ListKind.NORMAL
        and (one.engine_state == "start" or one.id in (watched, "start"))
    )
