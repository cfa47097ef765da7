"""A scripted pilot: hands that follow a start list by what the gauges show.

Rule of this file: the pilot knows only shown readings and the time; a gauge that
has dropped out is remembered as last seen. A badly flown start is a Plan with
other numbers, never another branch of code.

The default numbers are common practice, no source: fuel at about a fifth of the
gas generator's speed, starter off at half, igniter off at three quarters.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from enum import Enum

from callout.gauges.simulator.readings import EXHAUST, GAS_SPEED
from callout.gauges.simulator.state import HANDS_OFF, Controls


@dataclass(frozen=True, slots=True)
class Plan:
    """What the pilot means to do.

    Fields:
        starter_at: s, when the starter goes on, with the igniter
        igniter: whether the igniter is switched on at all
        fuel_at: % gas generator speed at which the fuel lever is cracked
        lever_first: first opening of the lever, 0 .. 1
        lever_rate: opening per second once the exhaust shows a flame
        lit_at: degC of exhaust that the pilot takes for light-off ...
        lit_rise: ... if it is also so much higher than when the lever was cracked
        eases_at: degC of exhaust above which the lever waits (inf: never)
        starter_off: % at which the starter is let go
        starter_most: s after which it is let go in any case
        igniter_off: % at which the igniter is switched off
        idle: % taken for idle
        fly_after: s at idle before the grip opens; None: stay at idle
        fly_for: s with grip and pitch raised
        grip, pitch: 0 .. 1 while flying
        grip_rate: per second, of both, up and down
        fuel_off: s, when the lever is closed, whatever else; None: never
        ground_power: from the beginning to idle
    """

    starter_at: float = 2.0
    igniter: bool = True
    fuel_at: float = 20.0
    lever_first: float = 0.15
    lever_rate: float = 0.018
    lit_at: float = 200.0
    lit_rise: float = 50.0
    eases_at: float = 670.0
    starter_off: float = 50.0
    starter_most: float = 40.0
    igniter_off: float = 75.0
    idle: float = 76.0
    fly_after: float | None = None
    fly_for: float = 60.0
    grip: float = 1.0
    grip_rate: float = 0.06
    pitch: float = 0.2
    fuel_off: float | None = None
    ground_power: bool = False


NORMAL = Plan()


class Phase(Enum):
    """How far the pilot has come."""

    WAITING = "waiting"
    MOTORING = "motoring"
    FUELLED = "fuelled"
    RUNNING = "running"
    CLOSED = "closed"


@dataclass(frozen=True, slots=True)
class Pilot:
    """The pilot's memory between two looks at the gauges.

    Fields:
        plan: what is meant to be done
        phase: how far it has come
        hands: where the hands are
        speed, exhaust: last seen, % and degC
        before_fuel: exhaust when the lever was cracked, degC
        idle_since: s when idle was reached; None before
    """

    plan: Plan = NORMAL
    phase: Phase = Phase.WAITING
    hands: Controls = HANDS_OFF
    speed: float = 0.0
    exhaust: float = 0.0
    before_fuel: float = 0.0
    idle_since: float | None = None


def act(pilot: Pilot, seen: Mapping[str, float], at: float, dt: float) -> Pilot:
    """Look at the gauges once and move the hands.

    Args:
        pilot: memory
        seen: shown readings; what is missing is remembered
        at: s
        dt: s since the last look
    """
    speed, exhaust = seen.get(GAS_SPEED, pilot.speed), seen.get(EXHAUST, pilot.exhaust)
    plan = pilot.plan
    phase = _next_phase(pilot, speed, at)
    idle_since = pilot.idle_since
    if phase is Phase.RUNNING and idle_since is None and speed >= plan.idle:
        idle_since = at
    before = exhaust if phase is Phase.MOTORING else pilot.before_fuel
    looked = Pilot(plan, phase, pilot.hands, speed, exhaust, before, idle_since)
    hands = _hands(looked, at, dt)
    if hands == pilot.hands:
        return looked
    return replace(looked, hands=hands)


def _next_phase(pilot: Pilot, speed: float, at: float) -> Phase:
    plan, phase = pilot.plan, pilot.phase
    if plan.fuel_off is not None and at >= plan.fuel_off:
        return Phase.CLOSED
    if phase is Phase.WAITING and at >= plan.starter_at:
        return Phase.MOTORING
    if phase is Phase.MOTORING and speed >= plan.fuel_at and at < _starter_ends(plan):
        return Phase.FUELLED
    if phase is Phase.FUELLED and speed >= plan.igniter_off:
        return Phase.RUNNING
    return phase


def _starter_ends(plan: Plan) -> float:
    return plan.starter_at + plan.starter_most


def _hands(pilot: Pilot, at: float, dt: float) -> Controls:
    plan, phase, hands = pilot.plan, pilot.phase, pilot.hands
    if phase in (Phase.WAITING, Phase.CLOSED):
        return Controls(ground_power=plan.ground_power and phase is Phase.WAITING)
    turning = phase in (Phase.MOTORING, Phase.FUELLED)
    held = hands.starter or phase is Phase.MOTORING
    grip, pitch = _flight(pilot, at, dt)
    return Controls(
        starter=turning and held and pilot.speed < plan.starter_off and at < _starter_ends(plan),
        igniter=turning and plan.igniter,
        fuel=_lever(pilot, dt),
        grip=grip,
        pitch=pitch,
        ground_power=plan.ground_power and pilot.idle_since is None,
    )


def _lever(pilot: Pilot, dt: float) -> float:
    plan, lever = pilot.plan, pilot.hands.fuel
    if pilot.phase is Phase.MOTORING:
        return 0.0
    if lever == 0.0:
        return plan.lever_first
    lit = pilot.exhaust >= max(plan.lit_at, pilot.before_fuel + plan.lit_rise)
    if lit and pilot.exhaust < plan.eases_at:
        return min(1.0, lever + plan.lever_rate * dt)
    return lever


def _flight(pilot: Pilot, at: float, dt: float) -> tuple[float, float]:
    plan, hands = pilot.plan, pilot.hands
    if pilot.idle_since is None or plan.fly_after is None:
        return 0.0, 0.0
    begins = pilot.idle_since + plan.fly_after
    flying = begins <= at < begins + plan.fly_for
    # The grip opens before the pitch is pulled, and closes after it is lowered.
    up = hands.grip >= plan.grip
    pitch = _towards(hands.pitch, plan.pitch if flying and up else 0.0, plan.grip_rate * dt)
    grip = _towards(hands.grip, plan.grip if flying or pitch > 0.0 else 0.0, plan.grip_rate * dt)
    return grip, pitch


def _towards(value: float, wanted: float, most: float) -> float:
    return value + min(most, max(-most, wanted - value))
