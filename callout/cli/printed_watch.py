"""The watch over a start, as lines for a person to read.

Rule of this file: as printed.py: values in, text out, figures as they were
written, so that they can be held against the handbook.
"""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from callout.checklist.amounts import amount, time_text
from callout.checklist.model import Aircraft, Ask
from callout.checklist.start_watch import (
    GaugeSign,
    ItemSign,
    Phase,
    SaidSign,
    Sign,
    StartFault,
    StartWatch,
)


def lines(aircraft: Aircraft) -> Iterator[str]:
    """The watch: what begins it, its phases, its faults and the lists they open."""
    watch = aircraft.start_watch
    if watch is None:
        return
    yield f"Start watch over {aircraft.list(watch.list_id).title}"
    yield f"  begins: {_any(watch.begins, aircraft)}"
    if watch.logged:
        calls = ", ".join(aircraft.gauge(gauge).call for gauge in watch.logged)
        yield f"  also logged: lowest and highest {calls}"
    for at, phase in enumerate(watch.phases, start=1):
        yield f"  {at}. {_phase(phase, watch, aircraft)}"
    for fault in watch.faults:
        yield f"  {_fault(fault, watch, aircraft)}"


def _phase(phase: Phase, watch: StartWatch, aircraft: Aircraft) -> str:
    text = f"{phase.call}: {_any(phase.until, aircraft)}"
    if phase.within is not None and phase.missed:
        text += f"; within {time_text(phase.within)}, else {watch.fault(phase.missed).call}"
    return text


def _fault(fault: StartFault, watch: StartWatch, aircraft: Aircraft) -> str:
    calls = {phase.id: phase.call for phase in watch.phases}
    shown = []
    if fault.when:
        shown.append(_any(fault.when, aircraft))
    if fault.longest is not None:
        until = f" without {_any(fault.stops, aircraft)}" if fault.stops else ""
        shown.append(f"more than {time_text(fault.longest)}{until}")
    shown += [f"{phase.call} missed" for phase in watch.phases if phase.missed == fault.id]
    during = f" (during {', '.join(calls[one] for one in fault.during)})" if fault.during else ""
    opens = aircraft.list(fault.abort).title
    return f"{fault.call} opens {opens}: {', or '.join(shown)}{during}"


def _any(signs: tuple[Sign, ...], aircraft: Aircraft) -> str:
    return ", or ".join(_sign(sign, aircraft) for sign in signs)


def _sign(sign: Sign, aircraft: Aircraft) -> str:
    if isinstance(sign, ItemSign):
        list_id, _, item_id = sign.item.partition("/")
        item = next(item for item in aircraft.list(list_id).items() if item.id == item_id)
        answer = f" {item.task.answers[0]}" if isinstance(item.task, Ask) else ""
        return f"{item.call}{answer} ticked"
    if isinstance(sign, SaidSign):
        return " or ".join(f'"{words}"' for words in sign.said)
    gauge = aircraft.gauge(sign.gauge)
    held = f", for {time_text(sign.seconds)}" if sign.seconds else ""
    return f"{gauge.call} {' and '.join(_gauge_sign(sign, gauge.unit))}{held}"


def _gauge_sign(sign: GaugeSign, unit: str) -> Iterator[str]:
    if sign.band.at_least is not None:
        yield f"at least {amount(sign.band.at_least, unit)}"
    if sign.band.at_most is not None:
        yield f"at most {amount(sign.band.at_most, unit)}"
    for word, rate in (
        ("rising", sign.rises),
        ("falling", sign.falls),
        ("rising less than", sign.rises_less_than),
    ):
        if rate is not None:
            yield f"{word} {_rate(rate, unit)} over {time_text(sign.over)}"
    if sign.heads_for is not None:
        yield f"heading for {amount(sign.heads_for, unit)} within {time_text(sign.ahead)}"
    if sign.limits:
        yield "past a limit of its own"


def _rate(rate: Decimal, unit: str) -> str:
    return f"{amount(rate, unit)} per second"
