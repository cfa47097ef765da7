"""Values of a session against their limits: read aloud, and measured by a feed.

Rule of this file: the engine judges, by the limits of the state that held; nothing
is judged anew in another way. Of measured values the lowest and the highest of
each state are judged; how long a limit was passed stands among the alerts.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from callout.checklist.model import OPEN, Aircraft, Band, Gauge
from callout.engine.effects import Record
from callout.engine.limits import Level, Verdict, judge, limits_now
from callout.logbook.whole import Showed
from callout.reports import names as words
from callout.reports.names import Names, clock, with_unit
from callout.reports.values import CAUTION, NOTE, WARNING, ReadingRow

_GRAVE = {Level.NEVER: WARNING, Level.CAUTION: CAUTION, Level.OUTSIDE: CAUTION}


def states(aircraft: Aircraft, facts: Iterable[tuple[float, Record]]) -> list[tuple[float, str]]:
    """From when which engine state's limits held."""
    known = {one.id: one.engine_state for one in aircraft.lists}
    found = [(0.0, "any")]
    for at, fact in facts:
        if fact.fact == "list opened" and fact.about in known:
            found.append((at, known[fact.about]))
    return found


def spoken(
    names: Names, held: Sequence[tuple[float, str]], facts: Iterable[tuple[float, Record]]
) -> tuple[ReadingRow, ...]:
    """Values that answered an item, or were refused."""
    rows, state = [], _State(held)
    for at, fact in facts:
        data = dict(fact.data)
        key = {"ticked": "answer", "out of range": "value", "limit passed": "value"}
        found = names.gauge_of(fact.about)
        if fact.fact not in key or found is None:
            continue
        gauge, wanted = found
        value = words.number(data.get(key[fact.fact], ""))
        if value is not None and data.get("gauge", gauge.id) == gauge.id:
            rows.append(_row(gauge, clock(at), value, value, state.at(at), wanted))
    return tuple(rows)


@dataclass
class _State:
    """Which state held; asked for in the order of time."""

    held: Sequence[tuple[float, str]]
    _place: int = 0

    def at(self, now: float) -> str:
        """The state at this time."""
        while self._place + 1 < len(self.held) and self.held[self._place + 1][0] <= now:
            self._place += 1
        return self.held[self._place][1] if self.held else "any"


def measured(
    names: Names, held: Sequence[tuple[float, str]], showed: Mapping[str, Showed]
) -> tuple[ReadingRow, ...]:
    """Lowest and highest of each gauge in each state."""
    rows = []
    for gauge_id, column in sorted(showed.items()):
        gauge = names.known(gauge_id)
        if gauge is None:
            continue
        for where, (low, high) in sorted(_extremes(column, held).items()):
            when = "always" if where == "any" else where
            rows.append(_row(gauge, when, low, high, where, OPEN))
    return tuple(rows)


def _extremes(
    column: Showed, held: Sequence[tuple[float, str]]
) -> dict[str, tuple[Decimal, Decimal]]:
    """State -> lowest and highest in it; what came before the first state counts to it."""
    changes = list(held) or [(0.0, "any")]
    places = [0, *(bisect_left(column.times, at) for at, _ in changes[1:]), len(column.times)]
    of_state: dict[str, list[int]] = {}
    for (_, state), began, ended in zip(changes, places, places[1:], strict=False):
        if began < ended:
            stretch = range(began, ended)
            by_value = column.values.__getitem__
            ends = [min(stretch, key=by_value), max(stretch, key=by_value)]
            of_state.setdefault(state, []).extend(ends)
    return {
        state: (min(map(column.exact, ends)), max(map(column.exact, ends)))
        for state, ends in of_state.items()
    }


def _row(
    gauge: Gauge, when: str, low: Decimal, high: Decimal, state: str, wanted: Band
) -> ReadingRow:
    shown = with_unit(low if low == high else f"{low} to {high}", gauge.unit)
    verdict = max((judge(gauge, state, value, wanted) for value in (low, high)), key=_rank)
    asked = words.band(wanted, gauge.unit)
    stated = [words.limit(one, gauge.unit) for one in limits_now(gauge, state)]
    limits = "; ".join(filter(None, [asked and f"asked for {asked}", *stated]))
    text = _verdict(verdict, gauge) if limits else "no limit in the file"
    return ReadingRow(gauge.call, when, shown, limits, text, _GRAVE.get(verdict.level, NOTE))


def _rank(verdict: Verdict) -> int:
    return (Level.NORMAL, Level.CAUTION, Level.OUTSIDE, Level.NEVER).index(verdict.level)


def _verdict(verdict: Verdict, gauge: Gauge) -> str:
    if verdict.level is Level.NORMAL:
        return "within"
    passed = with_unit(verdict.limit, gauge.unit)
    kinds = {Level.CAUTION: "", Level.OUTSIDE: "not accepted: ", Level.NEVER: "limit passed: "}
    return f"{kinds[verdict.level]}{verdict.side} {passed}"
