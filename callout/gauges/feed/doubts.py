"""At the start of a feed: whether its numbers fit another unit than the one they came in.

Rule of this file: it only doubts, it converts nothing. A gauge that is in doubt
gives no values until the feed is opened again with its unit put right: a
temperature that is taken for another can cost an engine.

Two things give it away. A number that the gauge cannot show at all, and could in
another unit of its kind. And temperatures of a machine that stands: cold metal
is as warm as its oil, so one that disagrees with the others, and in another
unit agrees to a degree and a half, came in that other unit. A warm engine can
look like that by chance, so a unit which the sender itself wrote beside the name is
believed.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from statistics import median

from callout.checklist.model import Gauge
from callout.checklist.units import same_kind
from callout.gauges.feed.columns import Bound
from callout.gauges.feed.units import Linear, conversion

TRIAL, FEWEST = 0.5, 5
"""Seconds, and samples, that are looked at before the first value is passed on."""

AGREE, DISAGREE = 1.5, 8.0
"""Degrees Celsius within which temperatures of a cold machine agree, and beyond which they
do not (common practice, no source)."""

COLDEST, WARMEST = -40.0, 55.0
"""Degrees Celsius of a machine that has taken on the temperature of the air around it."""

_SPELLINGS = frozenset({"°C", "°F", "hPa"})
"""The same as degC, degF and mbar: not proposed a second time."""


@dataclass(slots=True)
class Trial:
    """The first numbers of one column, in the gauge's unit as the column's unit has them."""

    gauge: Gauge
    bound: Bound
    began: float
    numbers: list[float] = field(default_factory=list)

    def over(self, at: float) -> bool:
        """Whether enough was seen."""
        return at - self.began >= TRIAL and len(self.numbers) >= FEWEST

    @property
    def middle(self) -> float:
        """What the column shows at the start."""
        return median(self.numbers)

    def otherwise(self, unit: str) -> float:
        """What that would be, had it come in another unit; in the gauge's unit."""
        sent = (self.middle - self.bound.into.shift) / self.bound.into.factor
        return conversion(unit, self.gauge.unit).of(sent)

    def others(self) -> list[str]:
        """Units it could have come in instead."""
        kind = same_kind(self.gauge.unit)
        return [unit for unit in kind if unit != self.bound.unit and unit not in _SPELLINGS]


def impossible(trial: Trial) -> str:
    """Why the column must have come in another unit; "" if it need not."""
    shown, possible = trial.middle, trial.gauge.possible
    low, high = float(possible.at_least or 0), float(possible.at_most or 0)
    room = 0.02 * (high - low)
    if low - room <= shown <= high + room:
        return ""
    fitting = [unit for unit in trial.others() if low <= trial.otherwise(unit) <= high]
    if not fitting:
        return ""
    unit = trial.gauge.unit
    would = " or ".join(f"{trial.otherwise(one):.3g} {unit} if it came in {one}" for one in fitting)
    return f"shows {shown:.4g} {unit}, beyond {low:g} to {high:g}; it would be {would}"


def disagreeing(trials: Sequence[Trial]) -> dict[str, str]:
    """Gauge -> why, of temperatures that came in another unit."""
    warm = [trial for trial in trials if "degF" in same_kind(trial.gauge.unit)]
    found: dict[str, str] = {}
    for trial in warm:
        if trial.bound.stated:
            continue
        others = [_celsius(o, o.middle) for o in warm if o is not trial]
        if others and (why := _disagrees(trial, median(others), others)):
            found[trial.gauge.id] = why
    return _likelier(found, warm)


def _disagrees(trial: Trial, around: float, others: Iterable[float]) -> str:
    own = _celsius(trial, trial.middle)
    together = [other for other in others if abs(other - around) < AGREE]
    all_wrong = abs(own - around) < AGREE and own > WARMEST
    if not together or not (all_wrong or (_soaked(around) and abs(own - around) > DISAGREE)):
        return ""
    for unit in trial.others():
        would = _celsius(trial, trial.otherwise(unit))
        fits = _soaked(would) if all_wrong else abs(would - around) < AGREE
        if fits:
            seen = f"shows {own:.0f} degrees Celsius where the others show {around:.0f}"
            return f"{seen}; it would be {would:.0f} if it came in {unit}"
    return ""


def _likelier(found: dict[str, str], warm: Sequence[Trial]) -> dict[str, str]:
    """Of two that accuse each other, the one that was converted is the likelier."""
    converted = {t.gauge.id for t in warm if t.bound.into != Linear(1.0, 0.0)}
    some = {gauge: why for gauge, why in found.items() if gauge in converted}
    return some if some and len(found) == 2 == len(warm) else found


def _soaked(celsius: float) -> bool:
    return COLDEST <= celsius <= WARMEST


def _celsius(trial: Trial, value: float) -> float:
    return conversion(trial.gauge.unit, "degC").of(value)
