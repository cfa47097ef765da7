"""What a list of outcomes comes to: counts, intervals, spread, confusions.

Rule of this file: arithmetic only.
"""

from __future__ import annotations

import math
import statistics
from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import Enum

Z95 = 1.959964
"""Two-sided 95 % point of the normal distribution."""


class Result(Enum):
    """What an ear made of one recording."""

    CORRECT = "correct"
    REJECTED = "rejected"
    WRONG = "wrong"


@dataclass(frozen=True, slots=True)
class Outcome:
    """One recording heard by one ear.

    Fields:
        ear, snr: name of the ear; condition in dB, None for clean
        text, said: what was said; what was understood or guessed, "" for nothing
        result: correct, rejected or wrong
        speaker: as in the set
        certainty: of what was understood or guessed
        waited: seconds of sound from the end of the words until it was decided, None if not heard
    """

    ear: str
    snr: float | None
    text: str
    said: str
    result: Result
    speaker: str
    certainty: float
    waited: float | None = None


@dataclass(frozen=True, slots=True)
class Figures:
    """One row of the table: an ear in one condition.

    Fields:
        low, high: Wilson's 95 % interval of the share that is correct
        nearest: how often the text nearest was the right one, whether accepted or not
        speakers: share correct of the worst speaker, of the tenth part, of the median one
        confusions: (said, understood) -> how often, most frequent first
        waited: median of Outcome.waited, None if nothing was heard
    """

    ear: str
    snr: float | None
    n: int
    correct: int
    rejected: int
    wrong: int
    low: float
    high: float
    nearest: int
    speakers: tuple[float, float, float]
    confusions: tuple[tuple[tuple[str, str], int], ...]
    waited: float | None


def figures(outcomes: Sequence[Outcome]) -> Figures:
    """Sum up the outcomes of one ear in one condition; at least one."""
    count = Counter(outcome.result for outcome in outcomes)
    low, high = wilson(count[Result.CORRECT], len(outcomes))
    pairs = Counter((o.text, o.said) for o in outcomes if o.result is Result.WRONG)
    waits = [o.waited for o in outcomes if o.waited is not None]
    return Figures(
        ear=outcomes[0].ear,
        snr=outcomes[0].snr,
        n=len(outcomes),
        correct=count[Result.CORRECT],
        rejected=count[Result.REJECTED],
        wrong=count[Result.WRONG],
        low=low,
        high=high,
        nearest=sum(o.text == o.said for o in outcomes),
        speakers=_spread(outcomes),
        confusions=tuple(pairs.most_common()),
        waited=statistics.median(waits) if waits else None,
    )


def wilson(hits: int, n: int) -> tuple[float, float]:
    """Interval that holds the true share with 95 % (Wilson 1927); n >= 1."""
    share = hits / n
    middle = share + Z95**2 / (2 * n)
    half = Z95 * math.sqrt(share * (1 - share) / n + Z95**2 / (4 * n * n))
    scale = 1 + Z95**2 / n
    return (middle - half) / scale, (middle + half) / scale


def _spread(outcomes: Iterable[Outcome]) -> tuple[float, float, float]:
    """Share correct of the worst speaker, the tenth part from below, the median."""
    by_speaker: dict[str, list[bool]] = defaultdict(list)
    for outcome in outcomes:
        by_speaker[outcome.speaker].append(outcome.result is Result.CORRECT)
    shares = sorted(sum(hits) / len(hits) for hits in by_speaker.values())
    return shares[0], shares[len(shares) // 10], statistics.median(shares)


def calibration_error(pairs: Sequence[tuple[float, bool]], bins: int = 10) -> float:
    """Expected calibration error: mean gap between certainty and share right, in equal bins.

    As in Guo et al. 2017 (arXiv 1706.04599): bins of equal width over 0 .. 1,
    each weighed by how many fall into it.
    """
    held: dict[int, list[tuple[float, bool]]] = defaultdict(list)
    for certainty, right in pairs:
        held[min(bins - 1, int(certainty * bins))].append((certainty, right))
    gaps = (
        abs(sum(c for c, _ in group) - sum(right for _, right in group)) for group in held.values()
    )
    return sum(gaps) / max(1, len(pairs))
