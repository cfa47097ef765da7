"""Warnings through conductor, mouth and logbook: what is heard outside, whatever comes in.

The machine talks, is silent, reads gauges and is killed at random. Whoever
listened the whole time must have heard every warning that nobody answered.
"""

from __future__ import annotations

from decimal import Decimal
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, rule

from callout.audio_block import AudioBlock
from callout.checklist.load import load
from callout.checklist.model import Aircraft
from callout.engine.alerts import REPEAT_AFTER
from callout.engine.effects import Effect, ToneKind
from callout.engine.events import Event, Heard, Reading, Resumed, SessionOpened, SpeechEnded
from callout.engine.rules import State
from callout.engine.session import Session
from callout.running.clock import RecordingClock
from callout.running.conductor import Conductor, Written
from callout.running.mouth import PAUSE, Mouth

RIG = """
callout: 1
aircraft:
  name: Wrenlet
  revision: "1"
  written_by: a test
  limits_from: {handbook: "none, all numbers are invented"}
gauges:
  heat:
    unit: degC
    range: 0 to 1000
    limits: {any: {caution: {above: 650}, never: {above: 720}}}
  oil:
    unit: bar
    range: 0 to 10
    decimals: 1
    limits: {any: {caution: {below: 2.0}, never: {below: 1.2}}}
lists:
  look:
    title: short look
    items:
      - {call: fuel lever, answer: closed, killer: yes}
      - {say: Mind the wind and whatever else may be blown into the intake today}
      - {call: exhaust temperature, read: heat, at_most: 600}
      - {call: oil pressure, await: {gauge: oil, at_least: 3, within: 10 s}}
      - {call: warm up, wait: 1 min, marks: [30 s, 10 s]}
      - {call: tail rotor, answer: free}
"""

READINGS = {"heat": ("300", "660", "730", "790"), "oil": ("0.5", "1.5", "4.0")}

RATE = 1000
SECONDS_A_CHARACTER = 0.06
"""About as long as the bundled voice takes."""


class Air:
    """A voice and where it sounds: (text, from, to), cut as it was cut."""

    def __init__(self) -> None:
        self.sounds: list[tuple[str, float, float, bool]] = []
        self._next = ""

    def sentence(self, text: str) -> AudioBlock:
        self._next = text
        seconds = 0.3 + SECONDS_A_CHARACTER * len(text)
        return AudioBlock(np.zeros(round(seconds * RATE), np.float32), RATE)

    def tone(self, kind: ToneKind) -> AudioBlock:
        self._next = f"<{kind.value}>"
        return AudioBlock(np.zeros(round(0.7 * RATE), np.float32), RATE)

    def start(self, clip: AudioBlock, at: float, now: float) -> None:
        assert at >= now - 1e-9
        assert not self.sounds or at >= self.sounds[-1][2] - 1e-9, "two voices at a time"
        self.sounds.append((self._next, at, at + clip.seconds, True))

    def cut(self, at: float) -> None:
        self.sounds = [
            (text, a, min(b, at), whole and b <= at + 1e-9)
            for text, a, b, whole in self.sounds
            if a < at
        ]

    def close(self, at: float) -> None:
        """Nothing is open."""


@cache
def _rig() -> Aircraft:
    with TemporaryDirectory() as folder:
        path = Path(folder) / "wrenlet.yaml"
        path.write_text(RIG, encoding="utf-8")
        return load(path)


class Nobody:
    def line(self, now: float, who: str, text: str) -> None:
        """Nobody reads."""


class Log(Written):
    """The events with their times, as a logbook keeps them."""

    def __init__(self) -> None:
        super().__init__(None, 0)
        self.events: list[tuple[float, Event]] = []

    def append(self, event: Event, effects: tuple[Effect, ...], stamp: object) -> None:
        self.events.append((stamp.now, event))  # type: ignore[attr-defined]

    def note(self, reading: Reading, now: float) -> None:
        self.events.append((now, reading))


class Flight(RuleBasedStateMachine):
    """A whole session under everything, with ears outside."""

    def __init__(self) -> None:
        super().__init__()
        self.clock = RecordingClock()
        self.log = Log()
        self.air = Air()
        self.plane = _rig()
        self.conductor = self._conductor(Session(self.plane))

    def _conductor(self, session: Session) -> Conductor:
        mouth = Mouth(self.air, self.air, lambda why: None)
        return Conductor(session, self.log, self.clock, mouth, lambda grammar: None, Nobody())

    @initialize()
    def begin(self) -> None:
        self.conductor.handle(SessionOpened(()))

    @rule(gauge=st.sampled_from(sorted(READINGS)), which=st.integers(0, 3))
    def reads(self, gauge: str, which: int) -> None:
        values = READINGS[gauge]
        value = Decimal(values[which % len(values)])
        self.conductor.handle(Reading(gauge, value, self.clock.now()))

    @rule(seconds=st.sampled_from([0.1, 0.5, 1.5, 4.0, 15.0]))
    def time_passes(self, seconds: float) -> None:
        until = self.clock.now() + seconds
        for _ in range(500):
            due = self.conductor.next_due()
            if due is None or due > until:
                break
            self.clock.move(max(due, self.clock.now()))
            self.conductor.pass_time()
        else:
            raise AssertionError("something is due without end")
        self.clock.move(max(until, self.clock.now()))

    @rule(data=st.data())
    def says(self, data: st.DataObject) -> None:
        phrases = self.conductor.session.state.grammar.phrases
        texts = [p.text for p in phrases if not p.means.startswith("end")]
        if texts:
            self._says(data.draw(st.sampled_from(texts)))

    @rule()
    def rogers(self) -> None:
        self._says("roger")

    def _says(self, text: str) -> None:
        began = self.clock.now()
        self.time_passes(0.5)
        serial = self.conductor.session.state.grammar.serial
        self.conductor.handle(Heard(text, 1.0, serial, began, self.clock.now(), "test"))

    @rule(gap=st.sampled_from([0.0, 20.0]))
    def is_killed_and_taken_up(self, gap: float) -> None:
        """What the mouth held is gone; the state is what the log gives."""
        before = self.conductor.session.state
        session = Session(self.plane)
        for at, event in self.log.events:
            session.handle(event, at)
        assert before == session.state
        self.air.cut(self.clock.now())
        self.clock.move(self.clock.now() + gap)
        self.conductor = self._conductor(session)
        if session.state.mode is not State.ENDED:
            self.conductor.handle(Resumed(gap))

    @rule()
    def nobody_answers_for_long(self) -> None:
        """Each warning that stands is heard whole, and is heard again, meanwhile."""
        began = self.clock.now()
        standing = self._unanswered()
        longest = max((len(text) for text, *_ in self.air.sounds), default=0)
        round_ = sum(self._takes(text) for text in standing.values()) + self._takes("x" * longest)
        for _ in range(4):
            self.time_passes(round_ + REPEAT_AFTER)
        heard = [text for text, a, _, whole in self.air.sounds if whole and a >= began]
        for key, text in self._unanswered().items():
            if standing.get(key) == text:
                assert heard.count(text) >= 2, (key, text)

    def _takes(self, text: str) -> float:
        return 1.0 + SECONDS_A_CHARACTER * len(text) + PAUSE

    def _unanswered(self) -> dict[str, str]:
        alerts = self.conductor.session.state.alerts
        return {a.key: a.text for a in alerts if a.grave and not a.answered}

    def teardown(self) -> None:
        """A sentence that was said to its end was said to its end outside, too."""
        said = [e.say for _, e in self.log.events if isinstance(e, SpeechEnded)]
        whole = [s for s in self.air.sounds if s[3] and not s[0].startswith("<")]
        assert len(said) <= len(whole)


TestFlight = Flight.TestCase
TestFlight.settings = settings(max_examples=40, stateful_step_count=40, deadline=None)
