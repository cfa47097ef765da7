"""One simulated start through the real feed and the real engine.

Rule of this file: the simulated machine goes its way whatever is called, so that
its own truth about the start stands beside what callout said; nothing of the
engine is told about the fault.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from itertools import islice

from callout.benches.starts_cases import Case
from callout.benches.starts_pilot import Panel, Talker
from callout.checklist.model import Aircraft, Ask, Await, Choose, ReadValue
from callout.engine.answers import wanted_band
from callout.engine.effects import Effect, Priority, Record, Say
from callout.engine.events import Clock, Event, Heard, SessionOpened, SpeechEnded
from callout.engine.grammar import gauge_of
from callout.engine.rules import State
from callout.engine.session import Session
from callout.engine.state import SessionState, current
from callout.gauges.feed.parsing import Name, Row
from callout.gauges.feed.simulated import NOISE
from callout.gauges.feed.watch import FeedWatch
from callout.gauges.simulator import Machine, Sample, at_rest, readings, samples, shown
from callout.gauges.simulator.faults import Sensor, SensorFault
from callout.gauges.simulator.readings import EXHAUST
from callout.gauges.simulator.reedlark import REEDLARK
from callout.words.say_numbers import say_digits

STEP = 0.05
"""Seconds of one step of the simulation, and between two lines of the feed."""

AFTER = 50.0
"""Seconds for which the machine goes on after a call: longer than the file's longest
time from there to idle."""

SCORCHED = 850.0
"""Exhaust (degC) above which a start is bad by any limit."""

LONGEST = 150.0
"""Seconds after which a start is over however it went."""

FEED = ("gas-generator-speed", "exhaust-temperature", "battery-voltage", "starter-light")


@dataclass
class Start:
    """What happened.

    Fields:
        case: which start
        times: s, of every line of the feed
        truth: gauge -> what an honest gauge showed at those times
        lit, meshed, open_, starter, igniter: the machine and the hands at those times
        lying: gauge -> at those times, whether the feed showed it wrong, or callout said so
        ticked: item -> when the pilot began the answer that ticked it (s)
        called: values that he read aloud: gauge, value, when he began (s)
        fault: what callout called ("" for nothing), `called_at` when
        first_item: whether the first item of the abort list was said in that same step
        facts: what was logged about the start
    """

    case: Case
    times: list[float] = field(default_factory=list)
    truth: dict[str, list[float]] = field(default_factory=dict)
    lit: list[bool] = field(default_factory=list)
    meshed: list[bool] = field(default_factory=list)
    open_: list[bool] = field(default_factory=list)
    starter: list[bool] = field(default_factory=list)
    igniter: list[bool] = field(default_factory=list)
    lying: dict[str, list[bool]] = field(default_factory=dict)
    ticked: dict[str, float] = field(default_factory=dict)
    called: list[tuple[str, float, float]] = field(default_factory=list)
    fault: str = ""
    called_at: float = float("inf")
    first_item: bool = False
    complete: bool = False
    facts: list[Record] = field(default_factory=list)


def start(aircraft: Aircraft, ready: SessionState, case: Case, seed: int) -> Start:
    """Run one start, to its idle or until LONGEST."""
    machine = Machine(REEDLARK, case.air, replace(case.faults, sensors=()))
    begin = at_rest(machine, metal=case.metal, charge=case.charge, pool=case.pool)
    driver = _Driver(aircraft, ready, case, seed)
    stream = islice(samples(machine, case.plan, start=begin, dt=STEP), round(LONGEST / STEP))
    over_at = float("inf")
    for sample in stream:
        driver.look(machine, sample)
        if driver.start.complete or _settled(driver.start, sample):
            over_at = min(over_at, sample.at + 5.0)
        if sample.at >= over_at:
            break
    return driver.start


def _settled(one: Start, sample: Sample) -> bool:
    """Called, and gone so far that its truth is known: nothing later changes it."""
    if not one.fault:
        return False
    scorched = one.truth[EXHAUST][-1] > SCORCHED and not one.complete
    return scorched or sample.at >= one.called_at + AFTER


class _Driver:
    def __init__(self, aircraft: Aircraft, ready: SessionState, case: Case, seed: int) -> None:
        self.start = Start(case)
        self.session = Session(aircraft)
        self.session.state = ready
        self._zero = ready.now
        self._feed = FeedWatch(aircraft.gauges, paced=False, now=self._zero)
        self._names = tuple(Name(gauge) for gauge in FEED)
        noise = (SensorFault(name, Sensor.NOISE, NOISE[name]) for name in FEED if name in NOISE)
        self._lies = (*noise, *case.faults.sensors)
        self._before: Mapping[str, float] = {}
        self._seed = seed + 7919 * case.number
        reaction = 0.6 + 0.6 * ((case.number * 37) % 100) / 100
        self._pilot = Talker(aircraft, reaction)
        self.start.called = self._pilot.called

    def look(self, machine: Machine, sample: Sample) -> None:
        """One line of the feed, and the pilot's word if there is one."""
        honest = readings(machine, sample.state)
        self._note(honest, sample)
        if self.start.fault or self.start.complete:
            return
        self._before = shown(honest, self._lies, sample.at, self._before, self._seed)
        values = tuple(self._before.get(name) for name in FEED)
        now = self._zero + sample.at
        self._pass_time(now)
        for event in self._feed.row(Row(self._names, values, now), now):
            self._handle(event, now)
        word = self._pilot.says(
            self.session, Panel(sample.at, honest, sample.controls, sample.state), now
        )
        if word is not None:
            self._handle(word, now)

    def _pass_time(self, now: float) -> None:
        for _ in range(20):
            due = self.session.next_deadline()
            if due is None or due > now:
                return
            self._handle(Clock(), due)

    def _handle(self, event: Event, now: float) -> None:
        if self.start.fault or self.start.complete:
            return
        self._pilot.told(event)
        effects = self.session.handle(event, now)
        for effect in effects:
            if isinstance(effect, Record):
                began = event.began if isinstance(event, Heard) else now
                self._fact(effect, effects, now - self._zero, began - self._zero)

    def _fact(self, fact: Record, effects: tuple[Effect, ...], at: float, began: float) -> None:
        one, data = self.start, dict(fact.data)
        if fact.fact == "ticked":
            one.ticked.setdefault(fact.about, began)
        if fact.fact.startswith("start "):
            one.facts.append(fact)
        if fact.fact == "start fault":
            one.fault, one.called_at = data["fault"], at
            one.first_item = any(
                isinstance(e, Say) and e.priority is Priority.ABORT for e in effects
            )
        if fact.fact == "start watched" and data["outcome"] == "complete":
            one.complete = True

    def _note(self, honest: Mapping[str, float], sample: Sample) -> None:
        one = self.start
        one.times.append(sample.at)
        for name in FEED:
            one.truth.setdefault(name, []).append(honest[name])
            wrong = any(lie.gauge == name for lie in self.start.case.faults.sensors
                        if lie.begins <= sample.at <= lie.ends)  # fmt: skip
            one.lying.setdefault(name, []).append(wrong or self._pilot.blind(name))
        one.lit.append(sample.state.lit)
        one.meshed.append(sample.state.meshed)
        one.open_.append(sample.controls.fuel > 0.0)
        one.starter.append(sample.controls.starter)
        one.igniter.append(sample.controls.igniter)


def ready(aircraft: Aircraft, item: str = "start/starter") -> SessionState:
    """A session in which everything before this item was answered right."""
    session = Session(aircraft)
    session.handle(SessionOpened(()), 0.0)
    now = 0.0
    for _ in range(1000):
        state = session.state
        if state.run is not None and state.item is not None:
            checklist, here = current(aircraft, state)
            if f"{checklist.id}/{here.id}" == item:
                return session.state
        now = _one_right_answer(session, aircraft, now)
    raise ValueError(f"The list never came to {item}.")


def _one_right_answer(session: Session, aircraft: Aircraft, now: float) -> float:
    now += 2.0
    before = session.state
    if before.prompt_say is not None:
        session.handle(SpeechEnded(before.prompt_say), now)
        if session.state.item != before.item:
            return now
    if session.state.mode is State.TIMING:
        now = max(now, session.next_deadline() or now)
        session.handle(Clock(), now)
        return now
    now += 4.0
    grammar = session.state.grammar
    session.handle(
        Heard(right_answer(session, aircraft), 1.0, grammar.serial, now, now, "sim"), now
    )
    return now


def right_answer(session: Session, aircraft: Aircraft) -> str:
    """What ticks the item in hand; "proceed" between lists."""
    state = session.state
    if state.run is None or state.item is None:
        return "proceed"
    item = current(aircraft, state)[1]
    task = item.task
    if isinstance(task, Ask):
        return task.answers[0]
    if isinstance(task, Choose):
        return task.options[0].answers[0]
    if isinstance(task, ReadValue | Await):
        gauge = gauge_of(aircraft, item)
        assert gauge is not None
        band = wanted_band(item)
        low = band.at_least if band.at_least is not None else gauge.possible.at_least
        assert low is not None
        return say_digits(low)
    return "proceed"
