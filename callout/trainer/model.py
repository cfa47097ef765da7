"""A drill as plain values: the scene, who says what and when, questions, the debrief.

Rule of this file: frozen values only, no reading, no checking. load.py makes these
and refuses what would break an assumption named here. Times are seconds, and what
came from the aircraft file says from which of its keys.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum


class Speaker(Enum):
    """Who says a line."""

    SITUATION = "situation"
    GAUGES = "gauges"
    PILOT = "pilot"
    HELPER = "helper"


PEOPLE = (Speaker.PILOT, Speaker.HELPER)
"""Those whom a trainee can be."""


@dataclass(frozen=True, slots=True)
class Amount:
    """A number of the scene, anywhere from `low` to `high`: practice varies it."""

    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Window:
    """How long a person has; `source` is the key of the aircraft file, "" for the drill's own."""

    seconds: float
    source: str = ""


@dataclass(frozen=True, slots=True)
class Sight:
    """What a gauge has to show: beyond `above` or `below`, for `seconds` without a break."""

    gauge: str
    above: float | None = None
    below: float | None = None
    seconds: float = 0.0

    def shows(self, value: float) -> bool:
        """Whether a value is what has to be shown."""
        if self.above is not None and value < self.above:
            return False
        return self.below is None or value <= self.below


@dataclass(frozen=True, slots=True)
class Wrong:
    """Words that are wrong here, and what they would do."""

    words: tuple[str, ...]
    because: str


@dataclass(frozen=True, slots=True)
class Line:
    """One thing that is said.

    Fields:
        id: unique in the drill
        who: whose it is; a trainee's own line is expected of him, others callout says
        say: what callout says, with {gauge} for what a gauge shows
        words: what counts when a trainee says it (none for situation and gauges)
        after: lines that must be over first; `delay` after the last of them
        when: what a gauge must show then
        facts: what must be true of the machine then: nothing is told that is not so
        within: time for a trainee from the end of what calls for it
        points: what it is worth; critical: a miss is what matters most
        why: the reason
        wrong: words that are refused by name
        does: controls it moves, each with its setting
        pair: name of an item that needs both people ("" for others)
        item: the item of a list that it answers ("" for none)
        signal: the hand signal it is about ("" for none)
    """

    id: str
    who: Speaker
    say: str
    words: tuple[str, ...] = ()
    after: tuple[str, ...] = ()
    delay: float = 0.0
    when: Sight | None = None
    facts: tuple[tuple[str, bool], ...] = ()
    within: Window = Window(12.0)
    points: int = 1
    critical: bool = False
    why: str = ""
    wrong: tuple[Wrong, ...] = ()
    does: tuple[tuple[str, float], ...] = ()
    pair: str = ""
    item: str = ""
    signal: str = ""


class Asked(Enum):
    """What callout asks after the scene."""

    WHY = "why"
    NEXT = "next"
    SEE = "see"


@dataclass(frozen=True, slots=True)
class Question:
    """A question made from the aircraft file: about an item ("list/item") or a gauge."""

    asked: Asked
    about: str


@dataclass(frozen=True, slots=True)
class Scene:
    """The machine and the day.

    Fields:
        running: the engine runs at idle when it begins; else it is cold
        engine_state: whose limits hold
        amounts: temperature (degC), altitude (m), battery (0 .. 1) and faults, by name
        ground_power: plugged in when it begins
        lasts: seconds after which it is over, whatever is left
        gauges: gauge of the aircraft file -> the simulated engine's, where its name differs
    """

    running: bool = False
    engine_state: str = "any"
    amounts: tuple[tuple[str, Amount], ...] = ()
    ground_power: bool = False
    lasts: float = 300.0
    gauges: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Drill:
    """One drill.

    Fields:
        id: the name of its file
        roles: whom a trainee can be in it
        about: what is practised, one sentence
        cautions: shown and printed
        debrief: said at the end, whatever the score
        false_call: points that a call costs which nothing asked for
        signals: hand signals that are described in it
        order: its place in the course, the first first
    """

    id: str
    title: str
    about: str
    roles: tuple[Speaker, ...]
    scene: Scene
    lines: tuple[Line, ...]
    questions: tuple[Question, ...] = ()
    cautions: tuple[str, ...] = ()
    debrief: str = ""
    false_call: int = 1
    order: int = 0

    def line(self, line_id: str) -> Line:
        """The line with this id; KeyError if there is none."""
        for line in self.lines:
            if line.id == line_id:
                return line
        raise KeyError(line_id)

    @property
    def signals(self) -> tuple[str, ...]:
        """The hand signals that it is about."""
        return tuple(dict.fromkeys(line.signal for line in self.lines if line.signal))
