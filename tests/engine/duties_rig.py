"""An invented aircraft that counts, cools down and runs down, for the tests of those."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from typing import Any

from engine_aircraft import HEAT, SPEED, VOLTS, band
from engine_rig import ask, checklist, item
from engine_talk import Talk

from callout.checklist.duties import CoolDown, Counter, GivesBack, ResidualFire, RunDown
from callout.checklist.model import (
    Aircraft,
    Ask,
    Await,
    CheckList,
    Condition,
    Item,
    ListKind,
    ReadValue,
    Source,
    Wait,
)
from callout.engine.counters import Tally
from callout.engine.effects import Say
from callout.engine.events import Reading, SessionOpened

ATTEMPTS = Counter(
    "attempts",
    "start attempts",
    ("start/starter",),
    most=Decimal(3),
    rest=1200.0,
    ends=("start/released", "stop/released"),
    between=60.0,
    each=20.0,
)
CHARGE = Counter(
    "charge",
    "starts on one charge",
    ("start/starter",),
    most=Decimal(4),
    reset_by=("after/charger",),
    gives_back=GivesBack(900.0, "running"),
)
HOURS = Counter("hours", "engine time", ("start/fuel",), ends=("down/lever",), total=7200.0)


def start() -> CheckList:
    items = (ask("starter"), ask("fuel"), ask("released"))
    return checklist("start", *items, engine_state="start", abort="stop")


def starting(*counters: Counter) -> Aircraft:
    """A start that can be tried again and again, a flight, and a shutdown."""
    return Aircraft(
        name="Test rig",
        revision="1",
        written_by="nobody, invented",
        limits_from=Source("invented"),
        lists=(
            checklist("hello", ask("seat")),
            start(),
            checklist("flight", ask("door"), engine_state="running"),
            checklist("down", ask("lever")),
            checklist("after", ask("charger")),
            checklist("end", ask("seat")),
            checklist("stop", ask("shut"), ask("released"), kind=ListKind.ABORT),
        ),
        counters=counters or (ATTEMPTS,),
        gauges=(VOLTS, HEAT, SPEED),
    )


class Noted(Talk):
    """A talk that keeps every sentence with its time."""

    def __post_init__(self) -> None:
        super().__post_init__()
        self.spoken: list[tuple[float, str]] = []

    def handle(self, event: Any) -> Any:
        effects = super().handle(event)
        self.spoken += [(self.now, e.text) for e in effects if isinstance(e, Say)]
        return effects

    def times(self, text: str) -> list[float]:
        """When sentences that hold this text were said."""
        return [at for at, said in self.spoken if text in said]


def opened(aircraft: Aircraft, *lists: str, **past: Any) -> Noted:
    """A session with a past, in the first of `lists`."""
    one = Noted(aircraft)
    one.handle(SessionOpened(lists, **past))
    return one


COOL = CoolDown(
    wait="cool/wait",
    blocks=("shut/lever",),
    starts=("cool/idle",),
    idle=(Condition("speed", band(None, "70")), Condition("heat", band(None, "560"))),
    raised=("power raised",),
    lists=("cool",),
)
DOWN = RunDown(
    ("shut/lever",),
    Condition("speed", band(None, "0")),
    ("shut/rotor",),
    ("rotor stands",),
    sessions=5,
)
FIRE = ResidualFire(
    ("shut/lever",),
    "heat",
    "burning",
    above=Decimal(450),
    rises_by=Decimal(60),
    settled_after=60.0,
    within=1800.0,
)


def cooling_lists(minutes: float = 2.0) -> tuple[CheckList, ...]:
    lever = Item("lever", "Fuel lever", Ask(("closed",)), killer=True)
    hot = item("heat", ReadValue("heat", band(None, "700")))
    return (
        checklist("fly", ask("door"), engine_state="running"),
        checklist(
            "cool",
            item("idle", ReadValue("speed", band("50", "70"))),
            item("wait", Wait(60.0 * minutes, (60.0, 30.0, 10.0))),
            item("cooler", Await(Condition("heat", band(None, "600")))),
            engine_state="cool-down",
        ),
        checklist("shut", lever, hot, ask("rotor"), needs=()),
        checklist("end", ask("cover")),
        checklist("burning", ask("motor"), kind=ListKind.EMERGENCY),
    )


def cooling(cool: CoolDown | None = COOL, minutes: float = 2.0, **parts: Any) -> Aircraft:
    """A flight, a cool-down, a shutdown."""
    return replace(
        starting(),
        lists=cooling_lists(minutes),
        counters=(),
        cool_down=cool,
        **parts,
    )


def read(one: Noted, gauge: str, value: str, later: float = 1.0) -> Noted:
    """A reading some seconds later; deadlines meanwhile at their own moments."""
    one.wait(later)
    one.handle(Reading(gauge, Decimal(value), one.now))
    return one


def facts(one: Talk, name: str) -> list[dict[str, str]]:
    """The data of all facts of a name."""
    return [dict(fact.data) for fact in one.facts if fact.fact == name]


def named(one: Talk, *names: str) -> list[str]:
    """The names of facts, of these only, in order."""
    return [fact.fact for fact in one.facts if fact.fact in names]


def attempt(one: Noted, on: float = 5.0) -> Noted:
    """The list start from where it is offered to its end, the starter on for so long."""
    one.say("open start", "ready")
    one.now += on - 3.0  # hear_out and the pause before an answer take three seconds
    return one.say("ready", "ready")


def ready(*more: Counter, **past: object) -> Noted:
    """Between lists."""
    aircraft = starting(*(more or (ATTEMPTS,)))
    return opened(aircraft, "hello", "end", **past).say("ready")


def tally(one: Noted, at: int = 0) -> Tally:
    return one.session.state.duties.tallies[at]


def at_wait(cool: CoolDown = COOL, minutes: float = 2.0, *lists: str) -> Noted:
    """The timed wait has just begun, started by the tick before it."""
    one = opened(cooling(cool, minutes), "cool", *(lists or ("shut", "end")))
    return one.say("six zero")


def done(one: Noted) -> bool:
    return one.session.state.duties.cooling.done
