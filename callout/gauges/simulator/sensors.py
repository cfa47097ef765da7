"""Sensors that lie: honest readings in, shown readings out.

Rule of this file: deterministic; noise is a function of seed, gauge and time,
so that a run repeated shows the same values to the last digit.
"""

from __future__ import annotations

import zlib
from collections.abc import Mapping
from functools import lru_cache

import numpy as np

from callout.gauges.simulator.faults import Sensor, SensorFault

TICKS = 1000  # noise is drawn for every millisecond


def shown(
    honest: Mapping[str, float],
    faults: tuple[SensorFault, ...],
    at: float,
    before: Mapping[str, float],
    seed: int = 0,
) -> dict[str, float]:
    """Let every faulty sensor lie.

    Args:
        honest: readings()
        faults: which gauges lie, how and when
        at: s of simulated time
        before: what was shown one step ago (a stuck gauge goes on showing that)
        seed: of the noise

    Returns the shown values; a gauge that has dropped out is missing.
    """
    values = dict(honest)
    for fault in faults:
        if not fault.holds(at) or fault.gauge not in values:
            continue
        if fault.kind is Sensor.DROPOUT:
            del values[fault.gauge]
        elif fault.kind is Sensor.STUCK:
            values[fault.gauge] = before.get(fault.gauge, values[fault.gauge])
        else:
            values[fault.gauge] += _added(fault, at, seed)
    return values


def _added(fault: SensorFault, at: float, seed: int) -> float:
    if fault.kind is Sensor.OFFSET:
        return fault.amount
    if fault.kind is Sensor.JUMP:
        return fault.amount if (at - fault.begins) % 1.0 < 0.5 else 0.0
    return fault.amount * noise(seed, fault.gauge, at)


def noise(seed: int, name: str, at: float) -> float:
    """Standard normal noise for a name at a time (s): the same whenever asked."""
    block, place = divmod(round(at * TICKS), TICKS)
    return _noise_block(seed, name, block)[place]


@lru_cache(maxsize=256)
def _noise_block(seed: int, name: str, block: int) -> tuple[float, ...]:
    # One second of noise at a time: drawing each value alone would be slow.
    key = np.random.SeedSequence((seed, zlib.crc32(name.encode()), block))
    return tuple(np.random.default_rng(key).standard_normal(TICKS).tolist())
