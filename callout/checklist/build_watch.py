"""The checked entry of a watch over a start -> the plain values of start_watch.py.

Rule of this file: as build.py: it only converts.
"""

from __future__ import annotations

from callout.checklist.build import as_words
from callout.checklist.model import Band
from callout.checklist.schema_watch import FaultEntry, PhaseEntry, SignEntry, StartWatchEntry
from callout.checklist.start_watch import (
    SLOPE_OVER,
    GaugeSign,
    ItemSign,
    Phase,
    SaidSign,
    Sign,
    StartFault,
    StartWatch,
)


def start_watch(entry: StartWatchEntry) -> StartWatch:
    """The whole watch."""
    return StartWatch(
        list_id=entry.watches,
        begins=_signs(entry.begins),
        phases=tuple(_phase(key, one) for key, one in entry.phases.items()),
        faults=tuple(_fault(key, one) for key, one in entry.faults.items()),
        bare_numbers=entry.bare_numbers or "",
        logged=tuple(entry.logged or ()),
    )


def _phase(phase_id: str, entry: PhaseEntry) -> Phase:
    call = entry.call or as_words(phase_id)
    return Phase(phase_id, call, _signs(entry.until), entry.within, entry.missed or "")


def _fault(fault_id: str, entry: FaultEntry) -> StartFault:
    return StartFault(
        id=fault_id,
        call=entry.call or as_words(fault_id),
        abort=entry.abort,
        during=tuple(entry.during or ()),
        when=_signs(entry.when or []),
        longest=entry.longest,
        stops=_signs(entry.stops or []),
    )


def _signs(entries: list[SignEntry]) -> tuple[Sign, ...]:
    return tuple(_sign(entry) for entry in entries)


def _sign(entry: SignEntry) -> Sign:
    if entry.item:
        return ItemSign(entry.item)
    if entry.said:
        return SaidSign(tuple(entry.said))
    return GaugeSign(
        gauge=entry.gauge or "",
        band=Band(entry.at_least, entry.at_most),
        seconds=entry.for_ or 0.0,
        rises=entry.rises,
        falls=entry.falls,
        rises_less_than=entry.rises_less_than,
        over=entry.over or SLOPE_OVER,
        heads_for=entry.heads_for,
        ahead=entry.ahead or 0.0,
        limits=bool(entry.limits),
    )
