"""The machine of a drill: the simulator, with hands that are moved by what is said.

Rule of this file: pure; what is true is what the simulator says, and nothing here
adds to it. The numbers of a drill's day are drawn from its ranges by a seed.
"""

from __future__ import annotations

import zlib
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any

from callout.gauges.simulator import (
    Controls,
    Faults,
    Machine,
    Plan,
    State,
    at_rest,
    readings,
    run,
    step,
)
from callout.gauges.simulator.atmosphere import FOOT, ZERO_C, air_at
from callout.gauges.simulator.readings import EXHAUST, GAS_SPEED, ROTOR_SPEED
from callout.trainer.fitting import EXAMPLE, STEP, TO_IDLE, Engine
from callout.trainer.model import Amount, Scene

CONTROLS = ("fuel", "starter", "ignition", "ground-power", "grip")
"""What a line may move; the rest of MOST are the machine's and the day's."""

DAY = ("temperature", "altitude", "battery", "residual-heat")
"""Of a scene's amounts those that are no fault."""

_FAULTS: Mapping[str, str] = {
    "battery-resistance": "battery_resistance",
    "starter-resistance": "starter_resistance",
    "starter-sticks": "starter_sticks",
    "igniter-dead": "igniter_dead",
    "fuel-excess": "fuel_excess",
    "fuel-leak": "fuel_leak",
    "tailwind": "tailwind",
}

MOST = (*CONTROLS, *DAY, *_FAULTS)
"""Every name that a scene or a line may set."""

FACTS = (
    "flame",
    "fuel-open",
    "starter-in-mesh",
    "engine-turning",
    "rotor-turning",
    "ground-power",
    "ignition",
    "unburnt-fuel",
)
"""What a line may ask to be true of the machine."""

STANDING = 0.5
"""Percent below which a shaft is taken for standing still (as the simulator's gauge reads 0)."""


POOLED = 0.001
"""Kilograms of unburnt fuel in the combustor that run out of its drain where one looks."""


@dataclass(frozen=True, slots=True)
class Stage:
    """The machine at one moment of a drill.

    Fields:
        machine: its numbers, the air, what is wrong
        state: where it is
        settings: where the controls are, by name
        lever: the fuel lever, 0 .. 1: a hand opens it slowly
        at: drill seconds
        highest: the highest that each gauge has shown
        cold: exhaust (degC) when the fuel was opened
        engine: whose numbers the machine has, and which gauges it shows
    """

    machine: Machine
    state: State
    settings: tuple[tuple[str, float], ...] = ()
    lever: float = 0.0
    at: float = 0.0
    highest: tuple[tuple[str, float], ...] = ()
    cold: float = 0.0
    engine: Engine = EXAMPLE

    def set_to(self, name: str) -> float:
        """Where a control is; 0 where nobody moved it."""
        return dict(self.settings).get(name, 0.0)

    @property
    def gauges(self) -> dict[str, float]:
        """What every gauge shows, in the aircraft file's units."""
        return self.engine.shown(self.true)

    @property
    def true(self) -> dict[str, float]:
        """What the machine does, in the simulator's units."""
        return readings(self.machine, self.state)

    def fact(self, name: str) -> bool:
        """Whether something is true of the machine."""
        shown = self.true
        return {
            "flame": self.state.lit,
            "fuel-open": self.lever > 0.0,
            "starter-in-mesh": self.state.meshed,
            "engine-turning": shown[GAS_SPEED] > STANDING,
            "rotor-turning": shown[ROTOR_SPEED] > STANDING,
            "ground-power": self.set_to("ground-power") > 0.0,
            "ignition": self.set_to("ignition") > 0.0,
            "unburnt-fuel": self.state.pool > POOLED,
        }[name]


def drawn(name: str, amount: Amount, seed: int) -> float:
    """The amount of this day: the same for the same seed, anywhere in its range."""
    share = zlib.crc32(f"{seed} {name}".encode()) / 0xFFFFFFFF
    return amount.low + (amount.high - amount.low) * share


def begin(scene: Scene, seed: int, engine: Engine = EXAMPLE) -> Stage:
    """The machine as the drill begins."""
    amounts = {name: drawn(name, amount, seed) for name, amount in scene.amounts}
    air = air_at(amounts.get("altitude", 0.0) / FOOT, amounts.get("temperature", 15.0))
    faults = _with(Faults(), {n: v for n, v in amounts.items() if n in _FAULTS})
    machine = Machine(engine.parameters, air, faults)
    settings = (("ground-power", 1.0),) if scene.ground_power else ()
    if scene.running:
        state = _idling(Machine(engine.parameters, air), engine.plan)
        moved = Stage(machine, state, (*settings, ("fuel", 1.0)), lever=1.0, engine=engine)
    else:
        metal = amounts["residual-heat"] + ZERO_C if "residual-heat" in amounts else None
        state = at_rest(machine, metal=metal, charge=amounts.get("battery", 1.0))
        moved = Stage(machine, state, settings, engine=engine)
    return replace(moved, highest=tuple(moved.gauges.items()))


@lru_cache(maxsize=32)
def _idling(machine: Machine, plan: Plan) -> State:
    return run(machine, plan, TO_IDLE, dt=STEP).samples[-1].state


def _with(faults: Faults, amounts: Mapping[str, float]) -> Faults:
    for name, value in amounts.items():
        if name == "igniter-dead":
            faults = replace(faults, igniter_dead=bool(value))
        else:
            field: dict[str, Any] = {_FAULTS[name]: value}
            faults = replace(faults, **field)
    return faults


def move(stage: Stage, name: str, value: float) -> Stage:
    """A control goes to its setting, or something of the day changes."""
    if name in _FAULTS:
        return replace(
            stage,
            machine=replace(stage.machine, faults=_with(stage.machine.faults, {name: value})),
        )
    settings = {**dict(stage.settings), name: value}
    lever, cold = stage.lever, stage.cold
    if name == "fuel":
        lever = (lever or stage.engine.plan.lever_first) if value else 0.0
        cold = stage.true[EXHAUST] if value else cold
    return replace(stage, settings=tuple(settings.items()), lever=lever, cold=cold)


def advance(stage: Stage, at: float) -> Stage:
    """The machine goes on until drill time `at` (s), in steps."""
    while stage.at + STEP <= at + 1e-9:
        stage = _step(stage)
    return stage


def _step(stage: Stage) -> Stage:
    true = stage.true
    shown = stage.engine.shown(true)
    lever = _lever(stage, true[EXHAUST])
    controls = Controls(
        starter=stage.set_to("starter") > 0.0,
        igniter=stage.set_to("ignition") > 0.0,
        fuel=lever,
        grip=min(1.0, stage.set_to("grip")),
        ground_power=stage.set_to("ground-power") > 0.0,
    )
    state = step(stage.machine, stage.state, controls, STEP)
    highest = tuple((name, max(value, shown[name])) for name, value in stage.highest)
    return replace(stage, state=state, lever=lever, at=round(stage.at + STEP, 6), highest=highest)


def _lever(stage: Stage, exhaust: float) -> float:
    """A hand that opens the lever slowly while the exhaust is not too hot, as the plan has it."""
    plan, lever = stage.engine.plan, stage.lever
    lit = exhaust >= max(plan.lit_at, stage.cold + plan.lit_rise)
    if 0.0 < lever < 1.0 and lit and exhaust < plan.eases_at:
        return min(1.0, lever + plan.lever_rate * STEP)
    return lever
