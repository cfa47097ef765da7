"""What ends the time that phases of a start may take together: a starter let go early.

Rule of this file: a gauge ends it only after it was seen to show otherwise (a lamp
that never lit tells nothing), and what was ended counts anew when the gauge shows
otherwise again. What is not seen changes nothing.
"""

from __future__ import annotations

import math

from callout.checklist.model import Aircraft
from callout.checklist.start_watch import GaugeSign, StartFault, StartWatch
from callout.engine.watch_signs import shown
from callout.engine.watch_state import Counted, Seen, Watch

ENDED = math.inf
"""Since when a time counts that does not count any more."""


def looked(aircraft: Aircraft, spec: StartWatch, watch: Watch, seen: Seen, now: float) -> Watch:
    """The watch after what this event shows of every time that something can end."""
    for fault in spec.stoppable:
        watch = _one(aircraft, spec, watch, fault, seen, now)
    return watch


def _one(
    aircraft: Aircraft, spec: StartWatch, watch: Watch, fault: StartFault, seen: Seen, now: float
) -> Watch:
    since = watch.counted_since(fault.id)
    watch, ends = shown(aircraft, spec, watch, fault.stops, seen, now, watch.began)
    if ends:
        measured = seen.value is not None and not seen.spoken and not seen.ticked
        return watch if measured and since is None else _with(watch, fault, ENDED)
    otherwise = any(
        isinstance(sign, GaugeSign)
        and sign.gauge == seen.gauge
        and seen.value is not None
        and not sign.band.holds(seen.value)
        for sign in fault.stops
    )
    if otherwise and since in (None, ENDED):
        return _with(watch, fault, watch.began if since is None else now)
    return watch


def _with(watch: Watch, fault: StartFault, since: float) -> Watch:
    others = tuple(one for one in watch.counted if one.fault != fault.id)
    return watch._replace(counted=(*others, Counted(fault.id, since)))
