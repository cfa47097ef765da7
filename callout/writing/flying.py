"""A flying day on paper: every list and every procedure, with the right answers.

Rule of this file: the engine itself is run, in time that is only counted. It says
what a file does when all goes well, one way of each choice at a time; nothing of
a machine or of a real pilot is in it.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from decimal import Decimal

from callout.checklist.model import (
    Advise,
    Aircraft,
    Ask,
    Await,
    Band,
    Choose,
    Item,
    ListKind,
    ReadValue,
    Wait,
)
from callout.engine.effects import Effect, Record, Say
from callout.engine.events import Clock, Event, Heard, SessionOpened, SpeechEnded
from callout.engine.rules import State
from callout.engine.session import Session
from callout.words.normal import normalise
from callout.words.number_words import spelled

MOST_STEPS = 5000
"""Steps after which a day that goes round in a ring is given up."""
PACE = 3.0
"""Seconds between a call and its answer: longer than any look that is asked for takes none."""


class StuckError(Exception):
    """A day that could not be flown to its end; the text says where."""


@dataclass
class _Day:
    """One session on its way."""

    session: Session
    way: int
    now: float = 0.0
    facts: list[Record] = field(default_factory=list)
    saying: list[int] = field(default_factory=list)

    def take(self, event: Event) -> None:
        self._keep(self.session.handle(event, self.now))
        while self.saying and not self.session.ended:
            said = self.saying.pop(0)
            self.now += 1.0
            self._keep(self.session.handle(SpeechEnded(said), self.now))

    def _keep(self, effects: tuple[Effect, ...]) -> None:
        self.facts += [one for one in effects if isinstance(one, Record)]
        self.saying += [one.say for one in effects if isinstance(one, Say)]

    def say(self, text: str) -> None:
        grammar = self.session.state.grammar.serial
        self.take(Heard(text, 1.0, grammar, self.now - 0.5, self.now, "keys"))


def fly(aircraft: Aircraft, way: int = 0, procedure: str = "") -> list[Record]:
    """The facts of one day, or of one that a procedure breaks off as soon as it counts.

    `way` picks the ways of the choices. Raises StuckError.
    """
    day = _Day(Session(aircraft), way)
    day.take(SessionOpened())
    for _ in range(MOST_STEPS):
        if day.session.ended:
            return day.facts
        if procedure and _counts_now(day, procedure):
            day.now += PACE
            day.say(normalise(aircraft.list(procedure).title))
            procedure = ""
        else:
            _step(day)
    run = day.session.state.run
    where = f'in list "{run.list_id}"' if run else "between lists"
    raise StuckError(f"The day does not come to its end: it stays {where}.")


def _counts_now(day: _Day, procedure: str) -> bool:
    """An emergency counts at any time, an abort while a list that names it runs."""
    aircraft, run = day.session.aircraft, day.session.state.run
    if aircraft.list(procedure).kind is ListKind.EMERGENCY:
        return True
    here = aircraft.list(run.list_id) if run else None
    return here is not None and procedure in (here.abort, *here.aborts)


def _step(day: _Day) -> None:
    state = day.session.state
    item = _in_hand(day)
    day.now += PACE + (item.look_time if item else 0.0)
    if state.mode is State.READY:
        day.say("proceed" if state.plan else "end session")
    elif state.mode is State.CONFIRMING:
        day.say("affirm")
    elif item is not None and isinstance(item.task, Wait):
        _let_pass(day)
    elif item is not None and not isinstance(item.task, Advise):
        day.say(_answer(day, item))
        if isinstance(item.task, Await) and _in_hand(day) is item:
            _let_pass(day)  # it has to hold for a while
    else:
        _let_pass(day)


def _in_hand(day: _Day) -> Item | None:
    state = day.session.state
    if state.run is None or state.item is None:
        return None
    return tuple(day.session.aircraft.list(state.run.list_id).items())[state.item]


def _let_pass(day: _Day) -> None:
    due = day.session.next_deadline()
    day.now = max(day.now, due if due is not None else day.now + 60.0)
    day.take(Clock())


def _answer(day: _Day, item: Item) -> str:
    aircraft = day.session.aircraft
    match item.task:
        case Ask(answers=answers):
            return normalise(answers[day.way % len(answers)])
        case Choose(options=options):
            return normalise(options[day.way % len(options)].answers[0])
        case ReadValue(gauge=gauge, accept=band):
            return _value(aircraft, gauge, band, _state_of(day))
        case Await(condition=condition):
            return _value(aircraft, condition.gauge, condition.band, _state_of(day))
    return "resume"


def _state_of(day: _Day) -> str:
    run = day.session.state.run
    return day.session.aircraft.list(run.list_id).engine_state if run else "any"


def _value(aircraft: Aircraft, gauge_id: str, wanted: Band, state: str) -> str:
    """A value in the middle of what is wanted, shown and inside the limits of the state."""
    gauge = aircraft.gauge(gauge_id)
    bands = [wanted, gauge.possible]
    for limit in gauge.limits:
        if limit.state in ("any", state):
            bands += [limit.caution, limit.never]
    lowest = max((one.at_least for one in bands if one.at_least is not None), default=Decimal(0))
    highest = min((one.at_most for one in bands if one.at_most is not None), default=lowest)
    step = Decimal(1).scaleb(-gauge.decimals)
    middle = ((lowest + highest) / 2).quantize(step)
    value = middle if lowest <= middle <= highest else lowest
    words = spelled(f"{abs(value):f}")
    return f"minus {words}" if value < 0 else words


def days(aircraft: Aircraft) -> list[list[Record]]:
    """Days until each way, each answer and each procedure was taken once.  Raises StuckError."""
    procedures = [one.id for one in aircraft.lists if one.kind is not ListKind.NORMAL]
    each = range(ways(aircraft))
    flown = [fly(aircraft, way) for way in each]
    return flown + [fly(aircraft, way, name) for name in procedures for way in each]


def ways(aircraft: Aircraft) -> int:
    """Days it takes until each way and each answer was given once."""
    tasks = [item.task for one in aircraft.lists for item in one.items()]
    most = [len(task.options) for task in tasks if isinstance(task, Choose)]
    most += [len(task.answers) for task in tasks if isinstance(task, Ask)]
    return max(most, default=1)
