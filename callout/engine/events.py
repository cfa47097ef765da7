"""What came in: everything that can happen to a session, as values.

Rule of this file: an event says what happened and when it was sensed, never
what should be done. Times are session seconds. Each class can be written down
as JSON and read back (logbook/codec.py): fields are str, int, float, bool,
Decimal, Enum or tuples of these.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from enum import Enum


@dataclass(frozen=True, slots=True)
class SessionOpened:
    """The first event of every session.

    Fields:
        lists: the lists to run, in order (() for all normal ones)
        tallies: how counters stood after past sessions, each as (id, counts, seconds
            on, when it was last counted or ended: session seconds, 0 or before)
        run_downs: past run-downs, oldest first, each as (how standstill was told, seconds)
        clock_set_back: the wall clock was set back since: rests count from now
        squawks: open squawks of past sessions, oldest first, each as (key, "list/item"
            it was opened at, station, what was in hand by name, whole days old, text,
            how that came about: "typed" or "unverified", grounds the aircraft, has a clip)
        pilot: who speaks, by the name he was enrolled under
        recorded: the sound of the whole session is kept
        contents: each list of the aircraft's file, and a digest of what it holds
        flown: the same of each list as it was when it was last run
        dues: how due items stood, each as (key, counts, seconds, day it was last done)
        wall: local time at session second 0, in seconds from day 0 (0: not known)
        trends: what has changed over past sessions and was not told yet, as sentences
        counting: digest of how the aircraft's file counts (checklist/content.py)
    """

    lists: tuple[str, ...] = ()
    tallies: tuple[tuple[str, float, float, float], ...] = ()
    run_downs: tuple[tuple[str, float], ...] = ()
    clock_set_back: bool = False
    squawks: tuple[tuple[str, str, str, str, int, str, str, bool, bool], ...] = ()
    pilot: str = ""
    recorded: bool = False
    contents: tuple[tuple[str, str], ...] = ()
    flown: tuple[tuple[str, str], ...] = ()
    dues: tuple[tuple[str, float, float, int], ...] = ()
    wall: float = 0.0
    trends: tuple[str, ...] = ()
    counting: str = ""


@dataclass(frozen=True, slots=True)
class Heard:
    """Words the ear is sure enough of.

    Fields:
        text: normalised words
        certainty: 0 .. 1; 1 for typed words
        grammar: serial of the Grammar they were decoded against
        began, ended: when the words sounded (s)
        source: name of the ear ("keys" for typed words)
    """

    text: str
    certainty: float
    grammar: int
    began: float
    ended: float
    source: str = ""


@dataclass(frozen=True, slots=True)
class NotUnderstood:
    """Something was said that is not in the grammar, or not sure enough.

    Fields:
        why: "not in the grammar" or "not sure enough"
        guess: nearest text, for the log only; it never ticks anything
        certainty: of the guess, 0 .. 1
        grammar, began, ended, source: as in Heard
    """

    why: str
    guess: str
    certainty: float
    grammar: int
    began: float
    ended: float
    source: str = ""


@dataclass(frozen=True, slots=True)
class Reading:
    """A measured value of a gauge, sampled at `at` (s), in the gauge's unit."""

    gauge: str
    value: Decimal
    at: float


@dataclass(frozen=True, slots=True)
class FeedFault:
    """What a gauge feed gives is not to be taken for a value.

    Fields:
        gauge: whose sensor; "" for the feed as a whole
        kind: "silent", "no number", "out of range", "jumps", "stuck" or "unit" of a
            sensor; "clock", "late", "frozen" or "line" of the feed (words in sensors.py)
        what: for people: what was seen, with its figures
    """

    gauge: str
    kind: str
    what: str


@dataclass(frozen=True, slots=True)
class FeedGood:
    """What was wrong with this gauge's sensor ("" for the feed as a whole) is over."""

    gauge: str


@dataclass(frozen=True, slots=True)
class SpeechEnded:
    """The sentence with this number has been said to its end."""

    say: int


@dataclass(frozen=True, slots=True)
class Clock:
    """Nothing happened but time: the deadline the session asked for has come."""


@dataclass(frozen=True, slots=True)
class Lost:
    """A part stopped working ("microphone", "voice", "feed"); `what` is for people."""

    part: str
    what: str


@dataclass(frozen=True, slots=True)
class Restored:
    """A lost part works again."""

    part: str


@dataclass(frozen=True, slots=True)
class Resumed:
    """The program came back after it was killed; `gap` seconds were missed.

    Of a squawk that was open then, `recorded` seconds are kept. If `others` is true,
    sessions of this aircraft came between: what is counted stands as `tallies` and
    `dues` tell (as in SessionOpened), and no turn that this one counted goes on.
    """

    gap: float
    recorded: float = 0.0
    others: bool = False
    tallies: tuple[tuple[str, float, float, float], ...] = ()
    dues: tuple[tuple[str, float, float, int], ...] = ()


@dataclass(frozen=True, slots=True)
class Stopped:
    """The person at the machine ended the session (Ctrl-C, end of the recording)."""

    why: str


@dataclass(frozen=True, slots=True)
class Noted:
    """A line typed into an open squawk, as it was typed."""

    text: str
    source: str = ""


class KeyMeaning(Enum):
    """What a key or pedal may mean; the value is the word it stands for."""

    AFFIRM = "affirm"
    SAY_AGAIN = "say again"
    HOLD = "hold"
    ROGER = "roger"


@dataclass(frozen=True, slots=True)
class Key:
    """A key or pedal with a meaning was pressed at `at` (s); `source` names key and device."""

    means: KeyMeaning
    at: float
    source: str = ""


Event = (
    SessionOpened
    | Heard
    | Key
    | Noted
    | NotUnderstood
    | Reading
    | FeedFault
    | FeedGood
    | SpeechEnded
    | Clock
    | Lost
    | Restored
    | Resumed
    | Stopped
)
