"""Checked entries of schema_duties.py -> the plain values of duties.py.

Rule of this file: as build.py: it only converts.
"""

from __future__ import annotations

from callout.checklist.build import as_words
from callout.checklist.duties import CoolDown, Counter, Due, GivesBack, ResidualFire, RunDown
from callout.checklist.model import Band, Condition
from callout.checklist.schema_duties import (
    CoolDownEntry,
    CounterEntry,
    DueEntry,
    ResidualFireEntry,
    RunDownEntry,
)


def counter(counter_id: str, entry: CounterEntry) -> Counter:
    """One counter."""
    timed, back = entry.seconds, entry.gives_back
    light = timed.shown_by if timed else None
    return Counter(
        id=counter_id,
        call=entry.call or as_words(counter_id),
        counts=tuple(timed.from_ if timed else entry.counts or ()),
        most=entry.most,
        rest=entry.rest,
        reset_by=tuple(entry.reset_by or ()),
        ends=tuple(timed.to if timed else ()),
        between=entry.between,
        each=entry.each_at_most,
        total=entry.total_at_most,
        gives_back=GivesBack(back.every, back.state) if back else None,
        shown=Condition(light.gauge, Band(light.at_least, light.at_most)) if light else None,
        formerly=tuple(entry.formerly or ()),
    )


def due(due_id: str, entry: DueEntry) -> Due:
    """One thing that has to be done."""
    return Due(
        id=due_id,
        call=entry.call or as_words(due_id),
        lists=tuple(entry.said_at),
        counter=entry.counter or "",
        every=float(entry.every or 0.0),
        warn=float(entry.warn or 0.0),
        on=entry.date,
        months=entry.months or 0,
        days=entry.days or 0,
        warn_days=entry.warn_days or 0,
        closes=tuple(entry.closes or ()),
        done_by=tuple(entry.done_by or ()),
        formerly=tuple(entry.formerly or ()),
    )


def cool_down(entry: CoolDownEntry) -> CoolDown:
    """The cool-down; without lists of their own its readings count in those it names."""
    named = [path.partition("/")[0] for path in (entry.wait, *entry.blocks)]
    return CoolDown(
        wait=entry.wait,
        blocks=tuple(entry.blocks),
        starts=tuple(entry.starts or ()),
        idle=tuple(
            Condition(gauge, Band(one.at_least, one.at_most))
            for gauge, one in (entry.idle or {}).items()
        ),
        raised=tuple(entry.power_raised or ()),
        lists=tuple(entry.lists or dict.fromkeys(named)),
    )


def run_down(entry: RunDownEntry) -> RunDown:
    """The run-down, over the defaults of duties.RunDown."""
    still = entry.standstill
    given = {"shorter_by": entry.shorter_by, "sessions": entry.sessions}
    return RunDown(
        starts=tuple(entry.starts),
        standstill=Condition(still.gauge, Band(at_most=still.at_most)) if still else None,
        ends=tuple(entry.ends or ()),
        said=tuple(entry.said or ()),
        **{key: value for key, value in given.items() if value is not None},  # type: ignore[arg-type]
    )


def residual_fire(entry: ResidualFireEntry) -> ResidualFire:
    """The watch after fuel-off, over the defaults of duties.ResidualFire."""
    given = {"settled_after": entry.settled_after, "within": entry.within}
    return ResidualFire(
        starts=tuple(entry.starts),
        gauge=entry.gauge,
        opens=entry.opens,
        above=entry.above,
        rises_by=entry.rises_by,
        **{key: value for key, value in given.items() if value is not None},
    )
