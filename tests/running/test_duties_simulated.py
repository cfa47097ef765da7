"""Fuel off on the simulated engine: a fire that goes on is called, heat that soaks back is not;
a bearing that rubs shortens the run-down.

The simulator's own physics is checked in tests/gauges; here it is what the gauges show.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from decimal import Decimal
from functools import lru_cache
from pathlib import Path

import numpy as np
import pytest

from callout.checklist.duties import ResidualFire, RunDown
from callout.checklist.load import load
from callout.checklist.model import Aircraft, Ask, CheckList, Item, ListKind, Section
from callout.engine.effects import Record, Say
from callout.engine.events import Heard, Reading, SessionOpened
from callout.engine.session import Session
from callout.gauges.simulator import Controls, Faults, Machine, Plan, State, run, step
from callout.gauges.simulator.readings import EXHAUST, GAS_SPEED, readings

REEDLARK = load(Path(__file__).parents[2] / "checklists" / "reedlark.yaml")
DT = 0.05
MINUTES = 2.5
NOISE = 2.0
"""Standard deviation of the exhaust gauge, degC."""


def _list(name: str, *calls: str, kind: ListKind = ListKind.NORMAL) -> CheckList:
    items = tuple(Item(call, call, Ask(("ready",))) for call in calls)
    return CheckList(name, name, (Section("", items),), kind=kind)


def aircraft(sessions: int = 5) -> Aircraft:
    """Fuel off and nothing else, watched with the example's own figures."""
    assert REEDLARK.residual_fire is not None
    assert REEDLARK.run_down is not None
    off = ("down/lever",)
    fire: ResidualFire = replace(REEDLARK.residual_fire, starts=off, opens="burning")
    down: RunDown = replace(REEDLARK.run_down, starts=off, ends=(), said=(), sessions=sessions)
    lists = (
        _list("down", "lever", "rotor"),
        _list("burning", "lever", kind=ListKind.EMERGENCY),
    )
    return replace(
        REEDLARK, lists=lists, counters=(), cool_down=None, run_down=down, residual_fire=fire
    )


@lru_cache(maxsize=2)
def warm(idle_for: float) -> State:
    """The engine after a flight and some time at idle, just before fuel off."""
    plan = Plan(fly_after=10.0, fly_for=30.0)
    return run(Machine(), plan, 110.0 + idle_for, dt=DT).samples[-1].state


@dataclass
class Shutdown:
    """What was called after fuel off, and what was true."""

    lit_at: float | None = None
    showing_at: float | None = None
    fire_at: float | None = None
    still_at: float | None = None
    said: tuple[str, ...] = ()
    facts: tuple[Record, ...] = ()
    hottest: float = 0.0


def shut_down(
    machine: Machine,
    *,
    idle_for: float = 60.0,
    seed: int = 0,
    past: tuple[tuple[str, float], ...] = (),
) -> Shutdown:
    """Fuel off, then every gauge read ten times a second."""
    noise = np.random.default_rng(seed)
    session, out, state = Session(aircraft()), Shutdown(), warm(idle_for)
    session.handle(SessionOpened(("down",), run_downs=past), 0.0)
    lowest: int | None = None
    before: int | None = None
    serial = session.state.grammar.serial
    session.handle(Heard("ready", 1.0, serial, 1.0, 1.0, "test"), 1.0)
    for tick in range(int(MINUTES * 60 / DT)):
        state = step(machine, state, Controls(), DT)
        now, shown = 1.0 + (tick + 1) * DT, readings(machine, state)
        if state.lit and now > 6.0 and out.lit_at is None:
            out.lit_at = now
        if tick % 2:
            continue
        rise = REEDLARK.residual_fire.rises_by if REEDLARK.residual_fire else None
        heat = shown[EXHAUST] + noise.normal(0.0, NOISE)
        two = (round(heat), round(heat) if before is None else before)
        if out.showing_at is None and lowest is not None and min(two) >= lowest + (rise or 0):
            out.showing_at = now
        lowest, before = max(two) if lowest is None else min(lowest, max(two)), round(heat)
        out.hottest = max(out.hottest, heat) if shown[GAS_SPEED] < 10 else 0.0
        for gauge, value in ((EXHAUST, round(heat)), (GAS_SPEED, round(shown[GAS_SPEED]))):
            effects = session.handle(Reading(gauge, Decimal(value), now), now)
            out.said += tuple(e.text for e in effects if isinstance(e, Say))
            found = tuple(e for e in effects if isinstance(e, Record))
            out.facts += found
            if out.fire_at is None and any(fact.fact == "residual fire" for fact in found):
                out.fire_at = now
        if out.still_at is None and round(shown[GAS_SPEED]) == 0:
            out.still_at = now
    return out


@pytest.mark.parametrize("leak", [0.0001, 0.0003, 0.0005])
def test_a_fire_that_goes_on_is_called_in_the_step_of_the_sample_that_shows_it(leak: float):
    """The second in a row that lies as far above the lowest two as the file says."""
    found = shut_down(Machine(faults=Faults(fuel_leak=leak)), seed=int(leak * 1e4))

    assert found.lit_at is not None
    assert found.fire_at is not None
    assert found.showing_at == found.fire_at
    assert 0.0 <= found.fire_at - found.lit_at < 5.0
    assert any("Warning. Exhaust temperature" in text for text in found.said)
    assert any("Burning" in text for text in found.said), "its procedure opens"


@pytest.mark.parametrize("seed", range(2))
@pytest.mark.parametrize("idle_for", [0.0, 60.0])
def test_heat_that_soaks_back_from_the_metal_is_no_fire(seed: int, idle_for: float):
    found = shut_down(Machine(), idle_for=idle_for, seed=seed)

    assert found.still_at is not None
    assert found.hottest > 100.0, "it does rise again after standstill"
    assert found.fire_at is None


def test_the_run_down_is_that_of_the_engine():
    found = shut_down(Machine())
    (fact,) = [fact for fact in found.facts if fact.fact == "run-down"]

    assert found.still_at is not None
    assert found.still_at - 1.0 == pytest.approx(float(dict(fact.data)["seconds"]), abs=0.02)


def test_a_bearing_that_rubs_is_told_by_a_shorter_run_down():
    sound = Machine()
    usual = shut_down(sound).still_at
    assert usual is not None
    past = tuple(("gauge", usual - 1.0 + wobble) for wobble in (-1.5, -0.5, 0.0, 0.5, 1.5))
    shaft = replace(sound.parameters.shaft, drag=2.0 * sound.parameters.shaft.drag)
    rubbing = Machine(parameters=replace(sound.parameters, shaft=shaft))

    assert not any("Run down short" in text for text in shut_down(sound, past=past).said)
    assert any("Run down short" in text for text in shut_down(rubbing, past=past).said)
