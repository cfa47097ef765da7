"""What a drill remembers while it runs, as one frozen value.

Rule of this file: values and small questions about them; nothing is decided here.
Times are drill seconds: session time less what was spent standing by.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from callout.trainer.model import Drill, Line, Question, Speaker
from callout.trainer.scene import Stage
from callout.words.phrases import Grammar

SAME = 1e-6
"""Seconds by which two times may differ and still be one: they are sums of others."""


NOTHING = Grammar(0)
"""Before a drill begins nothing counts."""


class Mode(Enum):
    """Where a drill stands."""

    CLOSED = "closed"
    INTRODUCING = "introducing"
    RUNNING = "running"
    ASKING = "asking"
    CLOSING = "closing"
    ENDED = "ended"


class Standing(Enum):
    """Where a line stands; the last three are over."""

    WAITING = "waiting"
    SAYING = "being said"
    COACHING = "being coached"
    OPEN = "open"
    SAID = "said"
    HIT = "hit"
    MISSED = "missed"


OVER = (Standing.SAID, Standing.HIT, Standing.MISSED)
ASKED = (Standing.OPEN, Standing.COACHING)


@dataclass(frozen=True, slots=True)
class Mark:
    """What became of one line.

    Fields:
        standing: where it stands
        opened: when its window opened
        at: when it was over
        reaction: from the opening to the beginning of the words (0: spoken into the cue)
        words: what was said
        late: the reaction of right words that came after the window
        coached: the words were told first
        seen_since: since when its gauge shows what it waits for
    """

    standing: Standing = Standing.WAITING
    opened: float | None = None
    at: float | None = None
    reaction: float | None = None
    words: str = ""
    late: float | None = None
    coached: bool = False
    seen_since: float | None = None

    @property
    def over(self) -> bool:
        """Whether nothing more comes of it."""
        return self.standing in OVER


@dataclass(frozen=True, slots=True)
class FalseCall:
    """Words that nothing asked for: when, what, why that is wrong, whose ("" for not known)."""

    at: float
    words: str
    kind: str
    because: str
    who: str = ""


@dataclass(frozen=True, slots=True)
class Told:
    """One entry of the timeline: when, who ("callout", "pilot", ...), what, of what kind."""

    at: float
    who: str
    text: str
    kind: str = ""


@dataclass(frozen=True, slots=True)
class Reply:
    """What a question was answered with."""

    question: Question
    asked: str
    right: str
    said: str = ""

    @property
    def good(self) -> bool:
        """Whether the answer was right."""
        return self.said == self.right != ""


@dataclass(frozen=True, slots=True)
class Posed:
    """The question that is asked now: its words, the answers that count, the right one, why."""

    question: Question
    text: str
    answers: tuple[str, ...]
    right: str
    because: str


@dataclass(frozen=True, slots=True)
class DrillState:
    """A drill at one moment.

    Fields:
        roles: whom the trainees are
        coached: the words are told before each window
        seed: of the day's amounts
        now: session time (s); skew: what of it was spent standing by; held: since when it stands
        marks: of the drill's lines, in their order
        stage: the machine
        speaking: say number -> what it says: a line's id, "" for others
        last_say: what "say again" repeats
        asked: questions that were asked; due: when an answer is late
        samples: (drill time, gauge values) twice a second
        news: said before everything else
        deaf: microphones that are lost; deaf_hold: it stands because of them
        heard: the last words (when they began, what, whose microphone)
        posed_at: session time at which the question was asked
        expected: lines whose words are likely now
        broken: ended before its end
    """

    roles: tuple[Speaker, ...] = ()
    coached: bool = False
    seed: int = 0
    mode: Mode = Mode.CLOSED
    now: float = 0.0
    skew: float = 0.0
    held: float | None = None
    began: float = 0.0
    marks: tuple[Mark, ...] = ()
    stage: Stage | None = None
    next_say: int = 1
    speaking: tuple[tuple[int, str], ...] = ()
    last_say: str = ""
    false_calls: tuple[FalseCall, ...] = ()
    timeline: tuple[Told, ...] = ()
    posed: Posed | None = None
    replies: tuple[Reply, ...] = ()
    due: float | None = None
    samples: tuple[tuple[float, tuple[float, ...]], ...] = ()
    grammar: Grammar = NOTHING
    news: str = ""
    deaf: int = 0
    deaf_hold: bool = False
    heard: tuple[float, str, str] = (-1.0, "", "")
    posed_at: float = 0.0
    expected: tuple[str, ...] = ()
    broken: bool = False
    last_false: float | None = None

    @property
    def t(self) -> float:
        """Drill time (s); it stands while the drill is held."""
        return (self.now if self.held is None else self.held) - self.skew

    def mark(self, drill: Drill, line_id: str) -> Mark:
        """The mark of a line."""
        return next(
            mark for line, mark in zip(drill.lines, self.marks, strict=True) if line.id == line_id
        )

    def marked(self, drill: Drill, line_id: str, mark: Mark) -> tuple[Mark, ...]:
        """All marks, with this one in its place."""
        pairs = zip(drill.lines, self.marks, strict=True)
        return tuple(mark if line.id == line_id else one for line, one in pairs)

    def is_mine(self, line: Line) -> bool:
        """Whether a trainee is expected to say this line."""
        return line.who in self.roles
