"""Limits over noise in which nothing happens, and what a sample costs.

Rule of this file: alarms are counted, and time is taken, over one and the same
code that a session runs.
"""

from __future__ import annotations

import math
import time
from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal

import numpy as np

from callout.benches.limits import STATE, Curve, never_above
from callout.benches.limits_figures import Cost, NoiseFigures
from callout.checklist.model import Aircraft, Gauge
from callout.engine.events import Reading, SessionOpened
from callout.engine.limit_findings import Kind
from callout.engine.limit_memory import BLANK, look
from callout.engine.limits import judge
from callout.engine.session import Session


def over_noise(
    gauge: Gauge, hz: float, sigma: float, hours: float, seed: int
) -> Iterator[NoiseFigures]:
    """Feeds in which nothing happens that has to be called."""
    chance = np.random.default_rng(seed)
    top = never_above(gauge, STATE)
    count = round(3600.0 * hours * hz)
    for kind, heat in _noises(chance, count, hz, sigma, top):
        ahead = rate = 0
        memory = BLANK
        before: set[tuple[Kind, float]] = set()
        for at, value in enumerate(heat.tolist()):
            memory = look(gauge, memory, STATE, at / hz, Decimal(f"{value:.1f}"))
            now = {(one.kind, one.since) for one in memory.findings}
            for found, _ in now - before:
                ahead += found is Kind.AHEAD
                rate += found is Kind.RATE
            before = now
        yield NoiseFigures(kind, hz, count, count / hz / 3600.0, ahead, rate)


def _noises(
    chance: np.random.Generator, count: int, hz: float, sigma: float, top: float
) -> Iterator[tuple[str, Curve]]:
    noise = chance.normal(0.0, sigma, count)
    yield "steady, close to the limit", top - 5.0 * sigma + noise
    yield (
        "random walk",
        _reflected(600.0 + np.cumsum(_steps(chance, count, hz)), 500.0, top) + noise,
    )
    spikes = np.where(chance.random(count) < 0.1 / hz, chance.uniform(50.0, 180.0, count), 0.0)
    yield "wild samples", 600.0 + noise + spikes
    loose = np.cumsum(chance.random(count) < 0.2 / hz) % 2 * 150.0
    yield "loose contact", 600.0 + noise + loose


def _steps(chance: np.random.Generator, count: int, hz: float) -> Curve:
    """Steps of a walk that strays by 5 degrees in a second, 40 in a minute."""
    return chance.normal(0.0, 5.0 / math.sqrt(hz), count)


def _reflected(walk: Curve, low: float, top: float) -> Curve:
    """The walk, turned back at both ends, clear of the limit by 20 degrees."""
    width = top - 20.0 - low
    phase = np.mod(walk - low, 2.0 * width)
    return low + np.where(phase < width, phase, 2.0 * width - phase)


def cost(aircraft: Aircraft, gauge: Gauge, count: int) -> Cost:
    """Processor time of the same samples three ways, in turn, the best of three rounds each."""
    values = [Decimal(f"{500.0 + i % 7:.1f}") for i in range(count)]
    best = [math.inf] * 3
    for _ in range(3):
        for place, work in enumerate((_judged, _looked, _stepped)):
            began = time.process_time()
            work(aircraft, gauge, values)
            best[place] = min(best[place], time.process_time() - began)
    judged, looked, stepped = (1e6 * one / count for one in best)
    return Cost(count, judged, looked, stepped)


def _judged(aircraft: Aircraft, gauge: Gauge, values: list[Decimal]) -> None:
    del aircraft
    for value in values:
        judge(gauge, STATE, value)


def _looked(aircraft: Aircraft, gauge: Gauge, values: list[Decimal]) -> None:
    del aircraft
    memory = BLANK
    for at, value in enumerate(values):
        memory = look(gauge, memory, STATE, at / 100.0, value)


def _stepped(aircraft: Aircraft, gauge: Gauge, values: list[Decimal]) -> None:
    """Through the whole engine, in the list that a start is made by."""
    first = next(one.id for one in aircraft.lists if one.engine_state == STATE)
    session = Session(replace(aircraft, notice=""))
    session.handle(SessionOpened((first,)), 0.0)
    for count, value in enumerate(values):
        at = count / 100.0
        session.handle(Reading(gauge.id, value, at), at)
