"""What `callout bench limits` has to tell: figures, and each as a sentence.

Rule of this file: values and words; nothing is measured here.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class StartFigures:
    """What became of many starts at one rate of the feed.

    Fields:
        hz, sigma: samples a second; standard deviation of the noise, degC
        look: seconds looked ahead
        good, hot: starts that stayed below the limit, and that passed it
        false: good ones in which it was called; low, high: Wilson's 95 % interval of the share
        missed: hot ones in which it was not called before the limit itself
        leads: seconds before the limit at which it was called: 5, 50 and 95 % of the hot ones
            (0 for those missed)
        silent: hot ones in which nothing at all was called before the limit itself
        first: as leads, of the first call of any kind about the limits
        rates: good ones, and hot ones, in which a rate above the owner's was called
        fastest: the steepest second of good ones, 50 %, 95 % and most, degC/s
    """

    hz: float
    sigma: float
    look: float
    good: int
    hot: int
    false: int
    low: float
    high: float
    missed: int
    leads: tuple[float, float, float]
    silent: int
    first: tuple[float, float, float]
    rates: tuple[int, int]
    fastest: tuple[float, float, float]

    def told(self) -> str:
        """For people."""
        return (
            f"{self.hz:g} Hz, noise {self.sigma:g}, {self.look:g} s ahead: "
            f"rising fast said in {self.false} of {self.good} good starts "
            f"(95 %: {100 * self.low:.1f} to {100 * self.high:.1f} %); "
            f"in {self.hot - self.missed} of {self.hot} hot ones before the limit, by "
            f"{_three(self.leads)} s (5, 50, 95 % of all of them); anything said before the "
            f"limit in {self.hot - self.silent}, by {_three(self.first)} s; the owner's rate "
            f"passed in {self.rates[0]} good and {self.rates[1]} hot ones; steepest second of "
            f"good ones {_three(self.fastest)} a second (50, 95, 100 %)"
        )


@dataclass(frozen=True, slots=True)
class NoiseFigures:
    """What became of a feed in which nothing happens: alarms for nothing, by kind of noise."""

    kind: str
    hz: float
    samples: int
    hours: float
    ahead: int
    rate: int

    def told(self) -> str:
        """For people."""
        return (
            f"{self.hz:g} Hz, {self.kind}: rising or falling fast said {self.ahead} times, a rate "
            f"{self.rate} times in {self.hours:g} h ({self.samples} samples)"
        )


@dataclass(frozen=True, slots=True)
class Cost:
    """Microseconds a sample: the bare verdict, all limits over time, a whole engine step."""

    samples: int
    judge_us: float
    look_us: float
    step_us: float

    def told(self) -> str:
        """For people."""
        ratio = self.look_us / self.judge_us
        return (
            f"all limits of a gauge over time {self.look_us:.1f} us a sample, {ratio:.1f} times "
            f"the bare verdict ({self.judge_us:.1f} us); a whole step of the engine "
            f"{self.step_us:.1f} us ({self.samples} samples at 100 Hz, the processor's time, "
            "best of three)"
        )


def _three(figures: tuple[float, float, float]) -> str:
    return ", ".join(f"{one:.2f}" for one in figures)
