"""What must be done: orders the engine gives, carried out by `running`.

Rule of this file: an effect is a value. Order of carrying out, always:
Record (committed) -> Show -> Listen -> StopSaying/Tone/Say. What was not
written down was not said.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum, IntEnum

from callout.words.phrases import Grammar


class Priority(IntEnum):
    """One voice at a time; the lower number goes first.

    ABORT is the first call of a procedure that cannot wait: it cuts even a warning,
    which is said again after it.
    """

    ABORT = -1
    WARNING = 0
    CAUTION = 1
    PROCEDURE = 2
    REMARK = 3


class ToneKind(Enum):
    """The few short tones."""

    HEARD = "heard"
    NOT_UNDERSTOOD = "not understood"
    CAUTION = "caution"
    WARNING = "warning"


@dataclass(frozen=True, slots=True)
class Record:
    """A fact to write down, derived from the event being handled.

    Fields:
        fact: what kind ("list opened", "ticked", "refused", "deferred",
            "overridden", "list complete" ...)
        about: list id, or "list/item", or "" for the session
        data: (key, value) pairs, text only
    """

    fact: str
    about: str = ""
    data: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Show:
    """One line for people to read; `who` says it: "callout", "pilot" or "note"."""

    text: str
    who: str = "callout"


@dataclass(frozen=True, slots=True)
class Listen:
    """From now on this is what counts."""

    grammar: Grammar


@dataclass(frozen=True, slots=True)
class Say:
    """Say a sentence; `say` numbers it, so that SpeechEnded can name it.

    Fields:
        about: what it is about; of two about the same the newer counts, and the
            older one, if it still waits, is dropped as stale ("": about nothing else)
        tone: sounds before the words, as one with them
        patient: cuts nothing, whatever its priority
        fresh: seconds within which it must begin, or be dropped as stale
        clip: the squawk whose recording sounds in place of the text
    """

    say: int
    text: str
    priority: Priority = Priority.PROCEDURE
    about: str = ""
    tone: ToneKind | None = None
    patient: bool = False
    fresh: float | None = None
    clip: str = ""


@dataclass(frozen=True, slots=True)
class Keep:
    """Keep the microphone's sound, under a squawk's number, from session time `since` (s).

    Fields:
        squawk: its number in this session
        until: it was kept until now (s); None: from now on
        drop: it was taken back, and nothing of it is kept
    """

    squawk: str
    since: float
    until: float | None = None
    drop: bool = False


@dataclass(frozen=True, slots=True)
class StopSaying:
    """Cut what is being said and drop what waits.

    Fields:
        about: only what is about this; "" for all but warnings and cautions, which
            hold whatever is answered
        waiting_only: what is being said goes on to its end
    """

    about: str = ""
    waiting_only: bool = False


@dataclass(frozen=True, slots=True)
class Tone:
    """Sound a short tone."""

    kind: ToneKind


Effect = Record | Show | Listen | Keep | Say | StopSaying | Tone
