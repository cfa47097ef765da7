"""Many simulated starts, each by the real engine: how many bad ones were called, and when.

Rule of this file: a start is bad or good by the truth of starts_truth.py; what
callout said is only held against it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from pathlib import Path
from statistics import median

from callout.benches.starts_cases import KINDS, case
from callout.benches.starts_run import Start, ready, start
from callout.benches.starts_truth import NEVER, Truth, truth
from callout.checklist.load import load
from callout.checklist.model import Aircraft

IN_TIME = 1.0
"""Seconds after a fault shows within which it must have been called."""


@dataclass
class Row:
    """The starts of one kind, or all of them.

    Fields:
        starts, bad, good: how many
        called: bad ones called within IN_TIME
        late: bad ones called later than that
        missed: bad ones never called
        false: good ones broken off
        early: bad ones broken off before anything showed
        named: bad ones called by the name of a fault that was there
        leads: seconds from the call to the exhaust's limit, of the hot ones called hot
        delays: seconds from what showed the fault to the call; below 0 before it
    """

    starts: int = 0
    bad: int = 0
    good: int = 0
    called: int = 0
    late: int = 0
    missed: int = 0
    false: int = 0
    named: int = 0
    first_item: int = 0
    leads: list[float] = field(default_factory=list)
    delays: list[float] = field(default_factory=list)

    def add(self, one: Start, true: Truth) -> None:
        """Count one start."""
        self.starts += 1
        if not true.bad:
            self.good += 1
            self.false += bool(one.fault)
            return
        self.bad += 1
        if not one.fault:
            self.missed += 1
            return
        delay = one.called_at - true.at
        self.delays.append(delay)
        self.called += delay <= IN_TIME
        self.late += delay > IN_TIME
        self.named += one.fault in true.faults
        self.first_item += one.first_item
        if one.fault == "hot-start" and true.limit_at < NEVER:
            self.leads.append(true.limit_at - one.called_at)

    def figures(self) -> dict[str, object]:
        """As plain values."""
        shares: dict[str, object] = {
            "starts": self.starts,
            "bad": self.bad,
            "called": self.called,
            "late": self.late,
            "missed": self.missed,
            "good": self.good,
            "false_aborts": self.false,
            "named_right": self.named,
            "first_item_in_that_step": self.first_item,
        }
        if self.delays:
            shares["delay_p95_s"] = round(share(self.delays, 0.95), 2)
            shares["delay_worst_s"] = round(max(self.delays), 2)
        if self.leads:
            shares["lead_p50_s"] = round(median(self.leads), 2)
            shares["lead_p5_s"] = round(share(self.leads, 0.05), 2)
            shares["lead_p95_s"] = round(share(self.leads, 0.95), 2)
        return shares


def share(values: Iterable[float], part: float) -> float:
    """The value below which this part of them lies."""
    ordered = sorted(values)
    return ordered[min(len(ordered) - 1, int(part * len(ordered)))]


@dataclass
class Bench:
    """All of it: rows by kind, and the starts that went wrong, for looking at again."""

    rows: dict[str, Row] = field(default_factory=dict)
    all: Row = field(default_factory=Row)
    wrong: list[dict[str, object]] = field(default_factory=list)

    def add(self, one: Start, true: Truth) -> None:
        """Count one start under its kind and under all."""
        self.rows.setdefault(one.case.kind, Row()).add(one, true)
        self.all.add(one, true)
        late = bool(one.fault) and one.called_at > true.at + IN_TIME
        if (true.bad and (late or not one.fault)) or (not true.bad and one.fault):
            self.wrong.append(
                {
                    "number": one.case.number,
                    "kind": one.case.kind,
                    "true": {name: round(at, 2) for name, at in true.faults.items()},
                    "called": one.fault,
                    "at": round(one.called_at, 2) if one.fault else None,
                }
            )


def run(
    aircraft: Path,
    count: int,
    seed: int,
    told: Callable[[int], None] = lambda _: None,
    first: int = 0,
) -> Bench:
    """Run so many starts of this aircraft; `told` hears after each how many are done.

    `first` is the number of the first one: each start is a function of seed and number.
    """
    plane: Aircraft = load(aircraft)
    begin = ready(plane)
    bench = Bench()
    for number in range(first, first + count):
        one = start(plane, begin, case(number, seed), seed)
        bench.add(one, truth(plane, one))
        told(number - first + 1)
    bench.rows = {kind: bench.rows[kind] for kind in KINDS if kind in bench.rows}
    return bench
