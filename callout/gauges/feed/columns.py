"""A feed's columns -> the aircraft's gauges, in the gauges' units.

Rule of this file: names are matched word for word, capitals aside. A unit that
the sender writes after a name is believed before the one in the aircraft file.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from callout.checklist.model import Gauge
from callout.checklist.problems import did_you_mean
from callout.checklist.units import FEED_UNITS, same_kind
from callout.gauges.feed.parsing import Name
from callout.gauges.feed.units import Linear, conversion


@dataclass(frozen=True, slots=True)
class Bound:
    """One column that is a gauge.

    Fields:
        at: its place in the row
        gauge: the gauge's id
        unit: what it comes in
        stated: the sender itself named the unit
        into: how a value becomes one in the gauge's unit
    """

    at: int
    gauge: str
    unit: str
    stated: bool
    into: Linear


@dataclass(frozen=True, slots=True)
class Binding:
    """All columns of one head.

    Fields:
        bound: the columns that are gauges
        refused: (gauge id, why) of columns in a unit that is none of the gauge's
        unknown: sentences about columns that are no gauge
    """

    bound: tuple[Bound, ...]
    refused: tuple[tuple[str, str], ...]
    unknown: tuple[str, ...]


def column_of(gauge: Gauge) -> str:
    """The name under which a gauge comes by a feed."""
    return gauge.feed.column or gauge.id


def bind(names: Iterable[Name], gauges: Iterable[Gauge]) -> Binding:
    """Find the gauge of each column."""
    known = {column_of(gauge).lower(): gauge for gauge in gauges}
    bound: list[Bound] = []
    refused: list[tuple[str, str]] = []
    unknown: list[str] = []
    for at, name in enumerate(names):
        gauge = known.get(name.column.lower())
        if gauge is None:
            hint = did_you_mean(name.column, known)
            unknown.append(f'the column "{name.column}" is no gauge of this aircraft{hint}')
        elif name.unit and name.unit not in same_kind(gauge.unit):
            refused.append((gauge.id, _wrong_unit(name, gauge)))
        else:
            unit = name.unit or gauge.feed.unit or gauge.unit
            into = conversion(unit, gauge.unit)
            bound.append(Bound(at, gauge.id, unit, bool(name.unit), into))
    return Binding(tuple(bound), tuple(refused), tuple(unknown))


def _wrong_unit(name: Name, gauge: Gauge) -> str:
    found = f'the column "{name.column}" comes in {name.unit}'
    if name.unit not in FEED_UNITS:
        return f"{found}, which is no unit known here{did_you_mean(name.unit, FEED_UNITS)}"
    return f"{found}, which cannot be converted into {gauge.unit}"
