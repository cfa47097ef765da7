"""An invented aircraft with every kind of item, for the tests of the engine."""

from __future__ import annotations

from decimal import Decimal

from callout.checklist.model import (
    Advise,
    Aircraft,
    Ask,
    Await,
    Band,
    CheckList,
    Choose,
    Condition,
    Gauge,
    GoTo,
    Item,
    Limit,
    ListKind,
    Need,
    OnlyIf,
    Option,
    ReadValue,
    Section,
    Settings,
    Source,
    Wait,
    Who,
)


def band(low: str | None = None, high: str | None = None) -> Band:
    return Band(Decimal(low) if low else None, Decimal(high) if high else None)


VOLTS = Gauge(
    "battery",
    "battery voltage",
    "V",
    ("volts", "volt"),
    band("0", "32"),
    1,
    limits=(Limit(never=band(None, "30")),),
)
HEAT = Gauge(
    "heat",
    "exhaust temperature",
    "degC",
    ("degrees",),
    band("0", "1000"),
    limits=(Limit("start", caution=band(None, "650"), never=band(None, "720")),),
)
SPEED = Gauge("speed", "gas generator speed", "%", ("percent",), band("0", "110"))

BEFORE = CheckList(
    "before-start",
    "Before start",
    (
        Section(
            "Outside",
            (
                Item(
                    "blades", "Rotor blades", Ask(("free",), ("tied",)), killer=True, where="Tail"
                ),
                Item("oil", "Oil cap", Ask(("secure",)), why="A loose cap loses the oil."),
                Item("bottle", "Fire bottle", Ask(("in hand",)), who=Who.HELPER),
            ),
        ),
        Section(
            "Inside",
            (
                Item(
                    "power",
                    "Power",
                    Choose((Option("own", ("battery",)), Option("ground", ("ground power",)))),
                ),
                Item("plug", "Plug", Ask(("connected",)), only_if=(OnlyIf("power", "ground"),)),
                Item("volts", "Battery voltage", ReadValue("battery", band("24", "29"))),
                Item("area", "Area", Ask(("clear",)), gate=True, killer=True, stale_after=300.0),
            ),
        ),
    ),
    abort="stop",
)
START = CheckList(
    "start",
    "Start",
    (
        Section(
            "",
            (
                Item("mind", "Mind the wind", Advise()),
                Item(
                    "turn",
                    "Speed",
                    Await(Condition("speed", band("20")), within=15.0, missed="stop"),
                ),
                Item("lit", "Exhaust temperature", ReadValue("heat", band("200", "700"))),
                Item("warm", "Warm up", Wait(60.0, (30.0, 10.0))),
                Item("end", "Idle", Ask(("stable", "steady")), look_time=1.0),
            ),
        ),
    ),
    engine_state="start",
    abort="stop",
    aborts=("hot",),
    needs=(Need("before-start", "area"),),
)
AFTER = CheckList(
    "after",
    "After",
    (
        Section(
            "",
            (
                Item("lever", "Lever", Ask(("closed",)), killer=True),
                Item("on", "Go on to shutdown", GoTo("shutdown")),
            ),
        ),
    ),
)
SHUTDOWN = CheckList("shutdown", "Shutdown", (Section("", (Item("fuel", "Fuel", Ask(("off",))),)),))
STOP = CheckList(
    "stop",
    "Stop the start",
    (Section("", (Item("lever", "Fuel lever", Ask(("closed",)), killer=True),)),),
    kind=ListKind.ABORT,
)
HOT = CheckList(
    "hot",
    "Hot start",
    (Section("", (Item("motor", "Motoring", Ask(("continued",))),)),),
    kind=ListKind.ABORT,
)
FIRE = CheckList(
    "fire",
    "Fire on the ground",
    (Section("", (Item("bottle", "Fire bottle", Ask(("aimed",))),)),),
    kind=ListKind.EMERGENCY,
)


def aircraft(settings: Settings | None = None, notice: str = "") -> Aircraft:
    return Aircraft(
        name="Test rig",
        revision="1",
        written_by="nobody, invented",
        limits_from=Source("invented"),
        lists=(BEFORE, START, AFTER, SHUTDOWN, STOP, HOT, FIRE),
        gauges=(VOLTS, HEAT, SPEED),
        settings=settings or Settings(),
        notice=notice,
    )
