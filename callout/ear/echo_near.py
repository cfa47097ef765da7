"""Whether somebody is near, or only what is left of callout's own voice is heard.

Rule of this file: powers in bands, block by block; numbers in, numbers out. No
words and no clock; a block is one of `echo.BLOCK` samples.

Three things are told apart in each block: the steady noise of the place, what
is left of an echo after it was taken out (it was a share of the echo lately:
`leak`), and what is neither. Later, for a stretch of blocks, it is told how
alike what is left and the echo are: somebody near does not speak in step with
callout's own sentence.
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from callout.audio_block import Samples
from callout.ear.echo import BLOCK, Split

RATE = 16_000
LOWEST_HZ, HIGHEST_HZ, BANDS = 250.0, 4200.0, 14
"""Bands of equal ratio, in which speech is."""
ABOVE_NOISE = 1.5
"""So many times the noise's own power may still be noise."""
ABOVE_LEAK = 2.0
"""So many times what usually is left of an echo may still be that."""
MOST = 15.0
"""A band that stands out by more decibels than this says no more."""
NEAR = 2.0
"""Somebody is near when the bands stand out by so many decibels, on average over three blocks."""
LINGERS = 0.7
"""What of an echo's power is still in the room one block later (beyond what is predicted)."""
LEARNS_UP, LEARNS_DOWN = 0.005, 0.05
"""How fast the leak is believed to be larger (somebody may be speaking), and smaller."""
LEAK_LEAST = 2e-3
EXPLAINED = 0.25
"""A block is explained when so little of its power is left, or next to nothing but noise."""
TRUST_UP, TRUST_DOWN = 0.03, 0.01
"""How fast a filter is trusted more and less with each block in which callout sounds."""
TRUST_AT_FIRST, TRUSTED = -0.5, 0.4
"""It has to explain a second or so before anybody is believed to be near."""
PROOF = 6
"""And so many blocks of each call, before anybody is believed to be near in that one: the clocks
may have moved since the last."""
CALLS = 20
"""Of so many calls it is known how they began."""
REMEMBERED = 600
"""Blocks that are remembered: 12 s."""
QUIETEST = 1e-4
"""Power under which the likeness of two bands says nothing (windowed, of full scale)."""

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Block:
    """What is remembered of a block in which, or shortly after which, callout sounded."""

    stands_out: float
    rest: Floats
    echo: Floats


@dataclass(frozen=True, slots=True)
class Evidence:
    """What speaks for somebody near, over some blocks.

    Fields:
        share: of the blocks, those in which somebody is near, 0 .. 1
        likeness: correlation of what is left with the echo, over time and bands, -1 .. 1
        blocks: how many of the blocks had callout's voice in them
    """

    share: float
    likeness: float
    blocks: int


class Nearness:
    """Looks at blocks one after another.

    Fields:
        proved: so many loud blocks of this call were explained
        runs: with how many of them, before any other, each of the latest calls began
    """

    def __init__(self) -> None:
        edges = np.geomspace(LOWEST_HZ, HIGHEST_HZ, BANDS + 1)
        bins = np.fft.rfftfreq(2 * BLOCK, 1 / RATE)
        self._bank = ((bins >= edges[:-1, None]) & (bins < edges[1:, None])).astype(np.float64)
        self._window = np.hanning(2 * BLOCK)
        self._before = np.zeros((3, BLOCK))
        self._noise: Floats | None = None
        self._lingering = np.zeros(BANDS)
        self._leak = 1.0
        self._trust = TRUST_AT_FIRST
        self.proved = 0
        self.runs: deque[int] = deque([0], maxlen=CALLS)
        self._runs_on = False
        self._blocks: dict[int, Block] = {}

    @property
    def trusts(self) -> bool:
        """Whether the filter explained enough lately of what was caught while callout sounded."""
        return self._trust >= TRUSTED and self.proved >= PROOF

    def prove(self) -> None:
        """Callout begins to sound, or what was known of its way has changed."""
        self.proved = 0
        self.runs.append(0)
        self._runs_on = True

    def begin(self) -> None:
        """Another filter: it has to earn its trust."""
        self._trust = TRUST_AT_FIRST
        self.prove()

    def quiet(self, caught: Samples) -> None:
        """Take a block in which nothing of callout can be heard: it tells of the noise."""
        power = self._powers(0, caught)
        if self._noise is None:
            self._noise = power
        lower = 0.9 * self._noise + 0.1 * power
        higher = np.minimum(1.02 * self._noise, 0.98 * self._noise + 0.02 * power)
        self._noise = np.where(power < self._noise, lower, higher)

    def take(self, number: int, split: Split, loud: bool) -> None:
        """Take the block of this number (they grow by one), parted by the filter.

        `loud`: callout is sounding, and not only dying away.
        """
        rest, echo = self._powers(0, split.rest), self._powers(1, split.echo)
        if self._noise is None:
            self._noise = rest
        self._learn(rest, echo)
        if loud:
            self._judge_filter(rest, self._powers(2, split.rest + split.echo))
        self._lingering = np.maximum(echo, LINGERS * self._lingering)
        explained = ABOVE_NOISE * self._noise + ABOVE_LEAK * self._leak * self._lingering + 1e-9
        above = float(np.clip(10 * np.log10(rest / explained + 1e-12), 0.0, MOST).mean())
        logs = (np.log(power + QUIETEST) for power in (rest, echo))
        self._blocks[number] = Block(above if self.trusts else 0.0, *logs)
        if len(self._blocks) > REMEMBERED:
            del self._blocks[next(iter(self._blocks))]

    def is_near(self, number: int) -> bool:
        """Whether somebody is near in the block of this number, by it and those beside it."""
        around = [one.stands_out for one in self._those(number - 1, number + 1)]
        return bool(around) and sum(around) / len(around) > NEAR

    def evidence(self, first: int, last: int, at_least: int = 20) -> Evidence:
        """Weigh blocks `first` .. `last`; likeness over at least so many, more around them."""
        inside = [at for at in range(first, last + 1) if at in self._blocks]
        share = sum(map(self.is_near, inside)) / len(inside) if inside else 1.0
        more = max(0, at_least - (last - first + 1))
        begin, end = first - more // 2, last + more - more // 2
        return Evidence(share, _likeness(self._those(begin, end)), len(inside))

    def _those(self, first: int, last: int) -> list[Block]:
        return [self._blocks[at] for at in range(first, last + 1) if at in self._blocks]

    def _powers(self, which: int, samples: Samples) -> Floats:
        both = np.concatenate([self._before[which], samples])
        self._before[which] = samples
        powers: Floats = self._bank @ np.abs(np.fft.rfft(both * self._window)) ** 2
        return powers

    def _learn(self, rest: Floats, echo: Floats) -> None:
        """How much of an echo is left when it is alone; in the logarithm, up more slowly."""
        assert self._noise is not None
        if echo.sum() <= 4 * self._noise.sum():
            return
        left = max(1e-4, np.maximum(rest - self._noise, 0.0).sum() / echo.sum())
        step = np.log(left) - np.log(self._leak)
        self._leak *= float(np.exp((LEARNS_DOWN if step < 0 else LEARNS_UP) * step))
        self._leak = min(1.0, max(LEAK_LEAST, self._leak))

    def _judge_filter(self, rest: Floats, caught: Floats) -> None:
        """Trust the filter as far as it explains what is caught while callout sounds."""
        assert self._noise is not None
        left = max(EXPLAINED * caught.sum(), 2 * self._noise.sum())
        explained = bool(rest.sum() <= left)
        speed = TRUST_UP if explained else TRUST_DOWN
        self.proved += explained
        self._runs_on = self._runs_on and explained
        self.runs[-1] += self._runs_on
        self._trust += speed * (float(explained) - self._trust)


def _likeness(blocks: list[Block]) -> float:
    """Correlation of the logarithms of power, each band about its own mean; three lags."""
    if len(blocks) < 3:
        return 0.0
    rest = np.array([one.rest for one in blocks])
    echo = np.array([one.echo for one in blocks])
    return max(_correlation(rest[lag:], echo[: len(echo) - lag]) for lag in range(3))


def _correlation(one: Floats, other: Floats) -> float:
    one, other = one - one.mean(axis=0), other - other.mean(axis=0)
    norm = float(np.sqrt((one**2).sum() * (other**2).sum()))
    return float((one * other).sum()) / norm if norm > 0 else 0.0
