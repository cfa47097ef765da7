"""Whether the feed's columns and units fit the gauges.

Rule of this file: it looks at drafts and notes problems, each at the word that
is wrong; it changes nothing.
"""

from __future__ import annotations

from callout.checklist.draft_parts import FileDraft
from callout.checklist.problems import Collector, listed, quoted
from callout.checklist.units import same_kind


def check(made: FileDraft, problems: Collector) -> None:
    """Note every column that is there twice, and every unit of another kind."""
    seen: dict[str, str] = {}
    for gauge_id, (node, gauge) in made.gauges.items():
        if gauge is None:
            continue
        part = node.map.get("feed")
        name = gauge.feed.column or gauge_id
        if name in seen:
            place = part.at("column") if part else node.key or node.place
            what = f'column {quoted(name)} is that of gauge "{seen[name]}" already'
            problems.add(place, f"{what}; expected each column once")
        seen.setdefault(name, gauge_id)
        unit = gauge.feed.unit
        if part is not None and unit and unit not in same_kind(gauge.unit):
            kind = listed(same_kind(gauge.unit))
            what = f"{quoted(unit)} cannot be converted into {gauge.unit}"
            problems.add(part.at("unit"), f"{what}; expected {kind}")
