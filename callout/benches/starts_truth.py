"""What was truly wrong with a simulated start, and when: the machine against the file's limits.

Rule of this file: it looks at the whole course of the true machine, which no
gauge of the feed shows as it is and which goes on as if nothing had been called.
It takes numbers from the file and nothing from the watch: its own arithmetic, on
arrays, is what the watch is held against. Where the file makes a phase end by the
pilot's answer, the time of that answer counts, from its first word; so it does for a
value while its gauge of the feed lies: no sample shows then that the phase is over, and
that nothing was told in time is known only when a call begun in time would be heard out.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

import numpy as np
from numpy.typing import NDArray

from callout.benches.starts_pilot import SECONDS_PER_WORD
from callout.benches.starts_run import Start
from callout.checklist.model import Aircraft
from callout.checklist.start_watch import GaugeSign, Phase, StartFault, StartWatch
from callout.engine.exposure import DIP
from callout.engine.limits import limits_now
from callout.gauges.simulator.readings import EXHAUST, GAS_SPEED

NEVER = float("inf")
ANSWER = 1.5
"""Seconds from a hand's move to the word about it, where callout no longer listens."""

Curve = NDArray[np.float64]
Flags = NDArray[np.bool_]


@dataclass(frozen=True)
class Truth:
    """What was wrong (fault -> when it showed, s), and when the exhaust passed its limit."""

    faults: dict[str, float]
    limit_at: float

    @property
    def bad(self) -> bool:
        """Whether it was a bad start."""
        return bool(self.faults)

    @property
    def at(self) -> float:
        """When the first fault showed (s)."""
        return min(self.faults.values(), default=NEVER)


def truth(aircraft: Aircraft, one: Start) -> Truth:
    """Judge one start."""
    assert aircraft.start_watch is not None
    return _Judge(aircraft, aircraft.start_watch, one).judge()


class _Judge:
    def __init__(self, aircraft: Aircraft, spec: StartWatch, one: Start) -> None:
        self.aircraft, self.spec, self.one = aircraft, spec, one
        self.times: Curve = np.array(one.times)
        self.speed: Curve = np.array(one.truth[GAS_SPEED])
        self.heat: Curve = np.array(one.truth[EXHAUST])
        self.lit: Flags = np.array(one.lit)
        self.meshed: Flags = np.array(one.meshed)
        self.found: dict[str, float] = {}
        self.began = NEVER

    def judge(self) -> Truth:
        """Phase after phase; a start that fails in one does not come to the next."""
        began = self.began = self.first(np.array(self.one.starter))
        fuel_speed = self.phase("fuel-speed", began, self.reached("fuel-speed"))
        fuel = self.answer("start/fuel-opened", np.array(self.one.open_), fuel_speed)
        light_off = self.phase("light-off", fuel, self._lights_up())
        half = self.phase("half-speed", light_off, self.reached("half-speed"))
        let_go = self.answer("start/starter-released", ~np.array(self.one.starter), half)
        off = self.phase("starter-off", half, (self.times >= let_go) | ~self.meshed)
        dark = self.first(~self.meshed & (self.times >= off))
        idle = self.phase("idle", dark, self._in_idle())
        off = self.answer("start/ignition-safe", ~np.array(self.one.igniter), idle)
        self.phase("ignition-off", idle, self.times >= off)
        end = min(idle, NEVER if self.times[-1] < idle else idle)
        self._starter(began, let_go, half)
        self._stall(light_off, end)
        self._flame_out(fuel, end)
        limit_at = self._hot(fuel, end)
        return Truth(self.found, limit_at)

    def first(self, holds: Flags) -> float:
        """When something holds for the first time."""
        return float(self.times[int(np.argmax(holds))]) if holds.any() else NEVER

    def phase(self, name: str, begins: float, over: Flags) -> float:
        """When this phase is over; if that is too late, what the file calls it is noted."""
        phase = next(one for one in self.spec.phases if one.id == name)
        ends = self.first(over & (self.times >= begins)) if begins < NEVER else NEVER
        ends = self._as_seen(phase, begins, ends, over)
        due = begins + (phase.within or NEVER)
        if ends > due and due <= self.times[-1]:
            self.note(phase.missed, self._known(phase, due))
            return NEVER
        return ends

    def _known(self, phase: Phase, due: float) -> float:
        """When it is known that the phase was not over in time, if its gauge lied just then."""
        gauges = [one.gauge for one in phase.until if isinstance(one, GaugeSign)]
        if len(gauges) < len(phase.until) or gauges[0] not in self.one.lying:
            return due
        if not self.one.lying[gauges[0]][self.index(due)]:
            return due
        return due + SECONDS_PER_WORD * (len(self.aircraft.gauge(gauges[0]).call.split()) + 2)

    def _as_seen(self, phase: Phase, begins: float, ends: float, over: Flags) -> float:
        """The same, or when it was told or shown, if the gauge that shows it lied just then."""
        signs = [one for one in phase.until if isinstance(one, GaugeSign) and not one.by_slope]
        gauge = signs[0].gauge if signs else ""
        lying: Flags = np.array(self.one.lying.get(gauge, [False] * len(self.times)))
        called = [at for name, value, at in self.one.called if name == gauge and at >= begins
                  and lying[self.index(at)]
                  and any(sign.band.holds(Decimal(round(value))) for sign in signs)]  # fmt: skip
        told = min(called, default=NEVER)
        if ends == NEVER or not lying[self.index(ends)]:
            return min(ends, told)
        return min(told, self.first(over & ~lying & (self.times >= ends)))

    def note(self, fault: str, at: float) -> None:
        """The earliest time counts."""
        self.found[fault] = min(at, self.found.get(fault, NEVER))

    def answer(self, item: str, done: Flags, begins: float) -> float:
        """When the pilot said so, or would have."""
        said = self.one.ticked.get(item)
        if said is not None:
            return max(said, begins)
        return self.first(done & (self.times >= max(begins, self.began))) + ANSWER

    def least(self, name: str) -> float:
        """The number in the file that ends this phase."""
        phase = next(one for one in self.spec.phases if one.id == name)
        signs = (sign for sign in phase.until if isinstance(sign, GaugeSign) and not sign.by_slope)
        return float(next(s.band.at_least for s in signs if s.band.at_least is not None))

    def reached(self, name: str) -> Flags:
        """Where the speed has been at that number for as long as the file asks."""
        phase = next(one for one in self.spec.phases if one.id == name)
        sign = next(sign for sign in phase.until if isinstance(sign, GaugeSign))
        return self.held(self.speed >= self.least(name), sign.seconds)

    def _lights_up(self) -> Flags:
        """Where the exhaust shows a flame by any sign of the file: a number, or one and a rise."""
        phase = next(one for one in self.spec.phases if one.id == "light-off")
        lit = np.zeros(len(self.times), dtype=bool)
        for sign in phase.until:
            if not isinstance(sign, GaugeSign):
                continue
            high = self.heat >= float(sign.band.at_least or 0)
            if sign.rises is not None:
                steps = round(sign.over / (self.times[1] - self.times[0]))
                before = np.concatenate([np.full(steps, np.inf), self.heat[:-steps]])
                high &= (self.heat - before) / sign.over >= float(sign.rises)
            lit |= high
        return lit

    def fault(self, name: str) -> StartFault:
        """The fault of this name in the file."""
        return self.spec.fault(name)

    def _in_idle(self) -> Flags:
        phase = next(one for one in self.spec.phases if one.id == "idle")
        sign = next(sign for sign in phase.until if isinstance(sign, GaugeSign))
        low, high = float(sign.band.at_least or 0), float(sign.band.at_most or 0)
        return self.held((self.speed >= low) & (self.speed <= high), sign.seconds)

    def held(self, holds: Flags, seconds: float) -> Flags:
        """Where it has held for so long without a break."""
        since = np.where(holds, NEVER, self.times)
        began = np.maximum.accumulate(np.where(holds, -NEVER, since))
        return holds & (self.times - began > seconds)

    def long_above(self, above: float, seconds: float) -> Flags:
        """Where the heat has been above for longer, dips as short as the file's count aside."""
        step = self.times[1] - self.times[0]
        total, below, long = 0.0, 0.0, np.zeros(len(self.times), dtype=bool)
        for at, heat in enumerate(self.heat):
            below = 0.0 if heat > above else below + step
            total = 0.0 if below >= DIP else total + step * (heat > above)
            long[at] = total > seconds
        return long

    def _starter(self, began: float, let_go: float, half: float) -> None:
        longest = self.fault("starter-held").longest
        if longest is not None and let_go > began + longest and began + longest < half + 8.0:
            on = self.meshed[min(len(self.times) - 1, self.index(began + longest))]
            if on and began + longest <= self.times[-1]:
                self.note("starter-held", began + longest)
        stays = self.fault("starter-stays-engaged")
        sign = next(s for s in stays.when if isinstance(s, GaugeSign))
        if let_go < NEVER:
            at = let_go + sign.seconds
            if at <= self.times[-1] and self.meshed[self.index(at)]:
                self.note("starter-stays-engaged", at)

    def index(self, at: float) -> int:
        """The first line at or after this time."""
        return min(int(np.searchsorted(self.times, at)), len(self.times) - 1)

    def _stall(self, light_off: float, end: float) -> None:
        """The slope of the speed over the file's time, by numpy's own least squares."""
        sign = next(s for s in self.fault("hung-start").when if isinstance(s, GaugeSign))
        if light_off == NEVER or sign.rises_less_than is None:
            return
        step = self.times[1] - self.times[0]
        count = round(sign.over / step)
        first = self.index(light_off + sign.over)
        for at in range(max(first, count), len(self.times), 2):
            if self.times[at] >= end:
                return
            if self.speed[at] > float(sign.band.at_most or 0):
                continue
            part = slice(at - count, at + 1)
            slope = np.polyfit(self.times[part] - self.times[at], self.speed[part], 1)[0]
            if slope < float(sign.rises_less_than):
                self.note("hung-start", float(self.times[at]))
                return

    def _flame_out(self, fuel: float, end: float) -> None:
        """The very moment at which the flame goes out, once it was there."""
        lit = self.first(self.lit)
        if lit < NEVER and fuel < NEVER:
            out = self.first(~self.lit & (self.times > lit) & (self.times < end))
            if out < NEVER:
                self.note("flame-out", out)

    def _hot(self, fuel: float, end: float) -> float:
        state = self.aircraft.list(self.spec.list_id).engine_state
        here = (self.times >= fuel) & (self.times <= end)
        first = NEVER
        for limit in limits_now(self.aircraft.gauge(EXHAUST), state):
            ceilings = [limit.never.at_most]
            if limit.transient is not None:
                ceilings.append(limit.transient.never_above)
                long = self.long_above(float(limit.transient.above), limit.transient.seconds)
                first = min(first, self.first(long & here))
            for top in ceilings:
                if top is not None:
                    first = min(first, self.first((self.heat > float(top)) & here))
        if first < NEVER:
            self.note("hot-start", first)
        return first
