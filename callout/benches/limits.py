"""How early "rising fast" is said in simulated starts, and how often for nothing.

Rule of this file: the engine's own memory of limits is let run over simulated
starts; a start is judged by its outcome alone: it passed the never-exceed limit
or it did not.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from decimal import Decimal

import numpy as np
from numpy.typing import NDArray

from callout.benches.figures import wilson
from callout.benches.limits_figures import StartFigures
from callout.benches.starts_cases import Case, case
from callout.checklist.model import Gauge
from callout.engine.limit_findings import Kind, ends
from callout.engine.limit_memory import BLANK, look
from callout.engine.limit_slopes import LOOK_AHEAD
from callout.engine.limits import limits_now
from callout.gauges.simulator import Machine, at_rest, readings, samples
from callout.gauges.simulator.readings import EXHAUST, GAS_SPEED
from callout.gauges.simulator.reedlark import REEDLARK

STATE = "start"
LONGEST = 75.0
"""Seconds after which a start is over however it went."""

NOT_OF_HEAT = frozenset({"sensor"})
"""Kinds of simulated starts that are about the feed, not about the engine."""

Curve = NDArray[np.float64]


@dataclass(frozen=True)
class Start:
    """A simulated start: the kind, and the true exhaust temperature every 1/hz s."""

    kind: str
    heat: Curve


def simulated(count: int, seed: int, hz: float) -> Iterator[Start]:
    """So many starts of every kind, sampled at hz; those of a lying sensor are left out."""
    number = made = 0
    while made < count:
        one = case(number, seed)
        number += 1
        if one.kind not in NOT_OF_HEAT:
            made += 1
            yield Start(one.kind, _heat(one, hz))


def _heat(one: Case, hz: float) -> Curve:
    every = max(1, math.ceil(40.0 / hz))
    machine = Machine(REEDLARK, one.air, replace(one.faults, sensors=()))
    begin = at_rest(machine, metal=one.metal, charge=one.charge, pool=one.pool)
    out: list[float] = []
    idle_since = math.inf
    stream = samples(machine, one.plan, start=begin, dt=1.0 / (hz * every))
    for count, sample in enumerate(stream):
        honest = readings(machine, sample.state)
        if count % every == 0:
            out.append(honest[EXHAUST])
        if honest[GAS_SPEED] >= one.plan.idle:
            idle_since = min(idle_since, sample.at)
        if sample.at >= min(LONGEST, idle_since + 5.0):
            return np.array(out)
    raise AssertionError("samples() has no end")


def never_above(gauge: Gauge, state: str) -> float:
    """The lowest never-exceed limit upwards."""
    highest = [ends(limit)[1] for limit in limits_now(gauge, state)]
    return min((float(one) for one in highest if one is not None), default=math.inf)


def looking(gauge: Gauge, seconds: float) -> Gauge:
    """The gauge, its limits in a start looked ahead to by so many seconds."""
    limits = (
        replace(limit, look_ahead=seconds) if limit.state == STATE else limit
        for limit in gauge.limits
    )
    return replace(gauge, limits=tuple(limits))


def look_of(gauge: Gauge) -> float:
    """Seconds looked ahead in a start: the file's, or the engine's own."""
    given = [limit.look_ahead for limit in limits_now(gauge, STATE) if any(ends(limit))]
    return next((one for one in given if one is not None), LOOK_AHEAD)


def over_starts(
    gauge: Gauge, starts: Iterable[Start], hz: float, sigma: float, seed: int
) -> StartFigures:
    """Let the limits watch every start through a noisy gauge."""
    chance = np.random.default_rng(seed)
    top = never_above(gauge, STATE)
    good: list[_Called] = []
    hot: list[_Called] = []
    fastest: list[float] = []
    for one in starts:
        seen = one.heat + chance.normal(0.0, sigma, len(one.heat))
        passed = bool(np.any(one.heat > top))
        (hot if passed else good).append(_called(gauge, seen, hz, top))
        if not passed:
            fastest.append(_steepest(one.heat, hz))
    false = sum(one.ahead < math.inf for one in good)
    low, high = wilson(false, len(good)) if good else (0.0, 1.0)
    leads = [one.lead(one.ahead) for one in hot]
    first = [one.lead(one.first) for one in hot]
    return StartFigures(
        hz=hz,
        sigma=sigma,
        look=look_of(gauge),
        good=len(good),
        hot=len(hot),
        false=false,
        low=low,
        high=high,
        missed=sum(lead <= 0.0 for lead in leads),
        leads=_at(leads, 5, 50, 95),
        silent=sum(lead <= 0.0 for lead in first),
        first=_at(first, 5, 50, 95),
        rates=(sum(one.rate < math.inf for one in good), sum(one.rate < math.inf for one in hot)),
        fastest=_at(fastest, 50, 95, 100),
    )


@dataclass(frozen=True, slots=True)
class _Called:
    """When (s) a limit was seen ahead, a rate passed, anything called, and the limit passed."""

    ahead: float
    rate: float
    first: float
    limit: float

    def lead(self, at: float) -> float:
        return max(0.0, self.limit - at) if at < math.inf else 0.0


def _called(gauge: Gauge, seen: Curve, hz: float, top: float) -> _Called:
    memory = BLANK
    at_first = dict.fromkeys(Kind, math.inf)
    for count, value in enumerate(seen.tolist()):
        at = count / hz
        memory = look(gauge, memory, STATE, at, Decimal(f"{value:.1f}"))
        for finding in memory.findings:
            if finding.side == "above":
                at_first[finding.kind] = min(at_first[finding.kind], at)
        if value > top:
            break
    early = min(at for kind, at in at_first.items() if kind is not Kind.NEVER)
    return _Called(at_first[Kind.AHEAD], at_first[Kind.RATE], early, at_first[Kind.NEVER])


def _steepest(heat: Curve, hz: float) -> float:
    """The most that it rose within a second."""
    step = round(hz)
    return float(np.max(heat[step:] - heat[:-step]))


def _at(values: list[float], *percent: float) -> tuple[float, float, float]:
    if not values:
        return (math.nan, math.nan, math.nan)
    a, b, c = np.percentile(values, percent)
    return float(a), float(b), float(c)
