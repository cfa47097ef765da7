"""A pilot who answers the list by voice while the simulator's hands start the engine.

Rule of this file: he answers what is asked when it is true and he has had time
to look; he reads the panel, which shows the truth, and calls a value himself only
when he was told that its sensor is not to be trusted. His words take their time:
callout has heard them when they are over.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal

from callout.checklist.model import Aircraft, Ask, Await, Choose, Item, ReadValue
from callout.checklist.start_watch import GaugeSign
from callout.engine.answers import wanted_band
from callout.engine.events import Event, FeedFault, FeedGood, Heard
from callout.engine.rules import State
from callout.engine.session import Session
from callout.engine.state import current
from callout.gauges.simulator import Controls
from callout.gauges.simulator import State as Engine
from callout.words.say_numbers import say_digits

SECONDS_PER_WORD = 0.35
"""How long a call and an answer sound, a word (common practice, no source)."""

SLOWER = 1.5
"""Seconds after which he answers what the feed should have answered."""


UNTIL_DARK = 3.0
"""Seconds for which he watches a starter light before he says that it burns on."""


@dataclass(frozen=True, slots=True)
class Panel:
    """What he sees: gauges that tell the truth, his own hands, the machine."""

    at: float
    gauges: Mapping[str, float]
    hands: Controls
    engine: Engine


@dataclass
class Talker:
    """One pilot in one start.

    Args:
        aircraft: whose list is read
        reaction: seconds from the end of a call, or from what he waits for, to his word
    """

    aircraft: Aircraft
    reaction: float
    _true_since: dict[str, float] = field(default_factory=dict)
    _blind: set[str] = field(default_factory=set)
    _free_at: float = 0.0
    _saying: tuple[str, float] | None = None
    #: values that he read aloud: gauge, value, when he began to say it
    called: list[tuple[str, float, float]] = field(default_factory=list)

    def told(self, event: Event) -> None:
        """What callout says about sensors."""
        if isinstance(event, FeedFault) and event.kind != "line":
            self._blind.update(
                [event.gauge] if event.gauge else [g.id for g in self.aircraft.gauges]
            )
        if isinstance(event, FeedGood):
            self._blind = self._blind - {event.gauge} if event.gauge else set()

    def says(self, session: Session, panel: Panel, now: float) -> Heard | None:
        """His next words, if they end now."""
        if now < self._free_at:
            return None
        if self._saying is not None:
            text, began = self._saying
            self._saying, self._free_at = None, now + self.reaction
            return Heard(text, 1.0, session.state.grammar.serial, began, now, "simulated")
        text = self._answer(session, panel, now) or self._call(session, panel, now)
        if text:
            self._saying = (text, now)
            self._free_at = now + SECONDS_PER_WORD * len(text.split())
            self._note(session, text, panel)
        return None

    def _note(self, session: Session, text: str, panel: Panel) -> None:
        """A value that he reads aloud, by its name or to the item in hand."""
        item = current(self.aircraft, session.state)[1]
        asked = item.task.condition.gauge if isinstance(item.task, Await) else ""
        for gauge in self.aircraft.gauges:
            value = say_digits(self._reads(gauge.id, panel)) if gauge.id in panel.gauges else ""
            if text == f"{gauge.call} {value}" or (gauge.id == asked and text == value):
                self.called.append((gauge.id, panel.gauges[gauge.id], panel.at))

    def blind(self, gauge: str) -> bool:
        """Whether he was told that this gauge's sensor is not to be trusted."""
        return gauge in self._blind

    def _answer(self, session: Session, panel: Panel, now: float) -> str:
        state = session.state
        if state.mode not in (State.ASKING, State.AWAITING) or state.item is None:
            return ""
        checklist, item = current(self.aircraft, state)
        called = state.asked_at + SECONDS_PER_WORD * len(state.prompt.split())
        text = self._true_answer(f"{checklist.id}/{item.id}", item, panel)
        if not text:
            self._true_since.pop(item.id, None)
            return ""
        key = f"{item.id}/burning" if text == "burning" else item.id
        since = self._true_since.setdefault(key, now)
        patience = 0.0
        if isinstance(item.task, Await):
            patience = SLOWER + item.task.condition.seconds
        if text == "burning":
            patience = UNTIL_DARK
        return text if now >= max(since, called) + self.reaction + patience else ""

    def _true_answer(self, path: str, item: Item, panel: Panel) -> str:
        """What he would say to this item if he looked now; "" for nothing yet."""
        hands, engine = panel.hands, panel.engine
        facts = {
            "start/starter": ("engaged", hands.starter),
            "start/fuel-opened": ("opened", hands.fuel > 0.0),
            "start/starter-released": ("released", not hands.starter),
            "start/starter-light": ("burning" if engine.meshed else "dark", True),
            "start/ignition-safe": ("safe", not hands.igniter),
        }
        if path in facts:
            answer, is_true = facts[path]
            return answer if is_true else ""
        task = item.task
        if isinstance(task, ReadValue | Await):
            gauge = task.gauge if isinstance(task, ReadValue) else task.condition.gauge
            value = self._reads(gauge, panel)
            return say_digits(value) if wanted_band(item).holds(value) else ""
        if isinstance(task, Choose):
            return task.options[0].answers[0]
        return task.answers[0] if isinstance(task, Ask) else ""

    def _reads(self, gauge_id: str, panel: Panel) -> Decimal:
        gauge = self.aircraft.gauge(gauge_id)
        shown = Decimal(str(panel.gauges[gauge_id]))
        return round(shown, gauge.decimals)

    def _call(self, session: Session, panel: Panel, now: float) -> str:
        """A value that the watch waits for and that its gauge does not show it."""
        spec, phase = self.aircraft.start_watch, session.state.watched
        if spec is None or phase < 0:
            return ""
        for sign in spec.phases[phase].until:
            if not isinstance(sign, GaugeSign) or sign.by_slope or sign.gauge not in self._blind:
                continue
            gauge, value = self.aircraft.gauge(sign.gauge), self._reads(sign.gauge, panel)
            key = f"{phase}/{sign.gauge}"
            if not sign.band.holds(value):
                self._true_since.pop(key, None)
            elif now >= self._true_since.setdefault(key, now) + self.reaction:
                return f"{gauge.call} {say_digits(value)}"
        return ""
