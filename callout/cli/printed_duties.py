"""What is counted and timed beside the lists, as lines for a person to read.

Rule of this file: as printed.py: values in, text out.
"""

from __future__ import annotations

from collections.abc import Iterator

from callout.checklist.amounts import amount, time_text
from callout.checklist.duties import CoolDown, Counter, ResidualFire, RunDown
from callout.checklist.model import Aircraft, Condition


def lines(aircraft: Aircraft) -> Iterator[str]:
    """Counters, cool-down, run-down, residual fire: a line each."""
    for counter in aircraft.counters:
        yield _counter(counter, aircraft)
    if aircraft.cool_down:
        yield _cool_down(aircraft.cool_down, aircraft)
    if aircraft.run_down:
        yield _run_down(aircraft.run_down, aircraft)
    if aircraft.residual_fire:
        yield _residual_fire(aircraft.residual_fire, aircraft)


def _counter(counter: Counter, aircraft: Aircraft) -> str:
    text = f"Counter {counter.call}: counts {', '.join(counter.counts)}"
    if counter.ends:
        text += f", on until {', '.join(counter.ends)}"
    if counter.shown is not None:
        text += f", shown by {_shown(counter.shown, aircraft)}"
    if counter.each is not None:
        text += f", at most {time_text(counter.each)} at a time"
    if counter.between is not None:
        text += f", rest {time_text(counter.between)} after each"
    if counter.most is not None:
        text += f", at most {counter.most}"
    if counter.total is not None:
        text += f", at most {time_text(counter.total)} in all"
    if counter.rest is not None:
        text += f", then rest {time_text(counter.rest)}"
    if counter.gives_back is not None:
        back = counter.gives_back
        text += f", one given back by {time_text(back.every)} of {back.state}"
    return f"{text}, set back by {', '.join(counter.reset_by)}" if counter.reset_by else text


def _cool_down(cool: CoolDown, aircraft: Aircraft) -> str:
    begins = f", starts with {', '.join(cool.starts)}" if cool.starts else ""
    idle = " and ".join(_shown(one, aircraft) for one in cool.idle)
    held = f", counts while {idle}" if idle else ""
    words = f', starts again at "{", ".join(cool.raised)}"' if cool.raised else ""
    return f"Cool-down: {cool.wait} before {', '.join(cool.blocks)}{begins}{held}{words}"


def _shown(condition: Condition, aircraft: Aircraft) -> str:
    gauge, band = aircraft.gauge(condition.gauge), condition.band
    ends = []
    if band.at_least is not None:
        ends.append(f"at least {amount(band.at_least, gauge.unit)}")
    if band.at_most is not None:
        ends.append(f"at most {amount(band.at_most, gauge.unit)}")
    return f"{gauge.call} {' and '.join(ends)}"


def _run_down(down: RunDown, aircraft: Aircraft) -> str:
    ways = [_shown(down.standstill, aircraft)] if down.standstill else []
    ways += [*down.ends, *(f'"{words}"' for words in down.said)]
    rule = f"said when {down.shorter_by} % shorter than the median of {down.sessions} or more"
    return f"Run-down: from {', '.join(down.starts)} to {' or '.join(ways)}, {rule}"


def _residual_fire(fire: ResidualFire, aircraft: Aircraft) -> str:
    gauge = aircraft.gauge(fire.gauge)
    signs = []
    if fire.above is not None:
        signs.append(
            f"above {amount(fire.above, gauge.unit)} after {time_text(fire.settled_after)}"
        )
    if fire.rises_by is not None:
        signs.append(f"{amount(fire.rises_by, gauge.unit)} above its lowest")
    opens = aircraft.list(fire.opens).title
    watched = f"watched for {time_text(fire.within)} from {', '.join(fire.starts)}"
    return f"Residual fire: {gauge.call} {' or '.join(signs)} opens {opens}, {watched}"
