"""The watch over a start: it follows every event and knows when to break off.

Rule of this file: it runs beside the list, whatever is asked, held or said
meanwhile; session.py calls `follow` once a step and carries out the fault that
it names by the rule of START_FAULT. What the phases and faults are stands in
the aircraft's file; here is only how they follow one another.
"""

from __future__ import annotations

import math

from callout.checklist.model import ListKind
from callout.checklist.start_watch import GaugeSign, Sign, StartFault, StartWatch
from callout.engine import alerts, closing, flow, watch_senses, watch_stops, wording
from callout.engine.effects import Priority, Record
from callout.engine.events import Heard, Reading, Resumed
from callout.engine.limit_findings import Kind
from callout.engine.limit_memory import BLANK
from callout.engine.turn import Turn
from callout.engine.watch_signs import shown
from callout.engine.watch_state import NOTHING, WAITING, Ended, Seen, Watch
from callout.engine.watch_times import GRACE, limits, runs, told_too_late, unseen_since

LONGEST_GAP = 60.0
"""Seconds without the program after which a start has ended one way or the other, and
nothing is known of it (common practice, no source)."""


def follow(turn: Turn) -> StartFault | None:
    """Take in what this event shows; the fault that it shows, if it shows one."""
    spec = turn.aircraft.start_watch
    if spec is None:
        return None
    watch = _of_this_start(turn, spec)
    if watch is None or watch.phase == len(spec.phases):
        return None
    watch = watch_senses.trusted(turn, spec, watch)
    at = _moment(turn)
    watch, seen = watch_senses.believed(spec, watch, _seen(turn), at)
    watch = watch_senses.taken(spec, watch, seen, at)
    if seen.ticked:
        watch = watch._replace(ticked=watch.ticked | seen.ticked)
    if isinstance(turn.event, Resumed):
        _keep(turn, spec, _came_back(turn, spec, watch))
        return None
    watch, fault = _look(turn, spec, watch, seen)
    _keep(turn, spec, watch)
    return fault


def _of_this_start(turn: Turn, spec: StartWatch) -> Watch | None:
    """The watch of the list that runs; a new one when it is opened, none when it is left."""
    watch, run = turn.state.watch, turn.state.run
    if run is not None and run.list_id == spec.list_id:
        if watch is None or watch.opened != run.opened_at:
            watch = Watch(opened=run.opened_at, senses=watch_senses.fresh(spec))
            _keep(turn, spec, watch)
        return watch
    if watch is None or (runs(spec, watch) and not _broken_off(turn, spec)):
        return watch
    if runs(spec, watch):
        end(turn, spec, watch, "broken off")
    turn.set(watch=None, watched=WAITING)
    return None


def _broken_off(turn: Turn, spec: StartWatch) -> bool:
    """A list that was run to its end leaves the watch to go on; a start given up does not."""
    state = turn.state
    if state.run is not None and turn.checklist.kind is not ListKind.NORMAL:
        return True
    last = [one for one in state.closed if one.list_id == spec.list_id][-1:]
    return bool(last) and last[0].outcome == "aborted"


def _seen(turn: Turn) -> Seen:
    event = turn.event
    if isinstance(event, Reading):
        if not event.value.is_finite():
            return NOTHING
        return Seen(event.gauge, event.value, too_long=_too_long(turn, event))
    ticked = frozenset(
        effect.about
        for effect in turn.effects
        if isinstance(effect, Record) and effect.fact == "ticked"
    )
    gauge, value = turn.called
    return Seen(gauge, value, spoken=value is not None, words=turn.words, ticked=ticked)


def _too_long(turn: Turn, reading: Reading) -> bool:
    """Whether it shows a time too long above: one that is below again shows none.

    That was called while it was above; or else the sensor was not believed then.
    """
    findings = turn.state.seen.get(reading.gauge, BLANK).findings
    return any(
        one.kind in (Kind.TOO_LONG, Kind.IN_ALL) and one.inside_by(reading.value) < 0
        for one in findings
    )


def _look(
    turn: Turn, spec: StartWatch, watch: Watch, seen: Seen
) -> tuple[Watch, StartFault | None]:
    """Faults first, then what ends a phase, then what time is up."""
    aircraft, now = turn.aircraft, _moment(turn)
    if watch.phase == WAITING:
        watch, begins = shown(aircraft, spec, watch, spec.begins, seen, now, watch.opened)
        if not begins:
            return watch, None
        watch = _begin(turn, spec, watch)
    watch = watch_stops.looked(aircraft, spec, watch, seen, now)
    while watch.phase < len(spec.phases):
        watch, fault = _fault_shown(turn, spec, watch, seen)
        if fault is not None:
            return watch, fault
        phase = spec.phases[watch.phase]
        watch, over = shown(aircraft, spec, watch, phase.until, seen, now, watch.since)
        if not over:
            return _too_late(turn, spec, watch)
        if told_too_late(spec, watch, _true_at(turn, watch.since), now):
            return watch, spec.fault(phase.missed)
        watch = _next_phase(turn, spec, watch, seen)
    end(turn, spec, watch, "complete")
    return watch, None


def _fault_shown(
    turn: Turn, spec: StartWatch, watch: Watch, seen: Seen
) -> tuple[Watch, StartFault | None]:
    for fault in spec.looked_for[watch.phase]:
        since = watch.begin_of(spec.first_of(fault))
        at = _moment(turn)
        watch, there = shown(turn.aircraft, spec, watch, fault.when, seen, at, since)
        if there:
            return watch, fault
    return watch, None


def _too_late(turn: Turn, spec: StartWatch, watch: Watch) -> tuple[Watch, StartFault | None]:
    """The fault whose time is up; first a gauge that is not seen is asked for aloud, once."""
    over = [pair for pair in limits(spec, watch, turn.now) if pair[0] <= turn.now]
    for _, fault in sorted(over, key=lambda pair: pair[0]):
        phase = spec.phases[watch.phase]
        blind = unseen_since(spec, watch, phase, turn.now)
        unseen = blind is not None and turn.now < blind + GRACE
        if fault.id != phase.missed or watch.asked or not unseen:
            return watch, fault
        turn.record("start phase not seen", spec.list_id, phase=phase.id)
        turn.say(wording.sentence(f"{phase.call}?"), Priority.CAUTION)
        watch = watch._replace(asked=True)
    return watch, None


def _begin(turn: Turn, spec: StartWatch, watch: Watch) -> Watch:
    turn.record("start began", spec.list_id)
    senses, at = watch_senses.begun(watch.senses), _true_at(turn, watch.opened)
    return watch._replace(phase=0, began=at, since=at, senses=senses, held=(), counted=())


def _true_at(turn: Turn, earliest: float) -> float:
    """When it was so: what a pilot tells was true when he began to speak, if not before."""
    event = turn.event
    told = event.began if isinstance(event, Heard) else _moment(turn)
    return max(earliest, min(told, turn.now))


def _moment(turn: Turn) -> float:
    """When what shows was read off: lines that come late, many at once, keep their times."""
    event = turn.event
    return min(event.at, turn.now) if isinstance(event, Reading) else turn.now


def _next_phase(turn: Turn, spec: StartWatch, watch: Watch, seen: Seen) -> Watch:
    phase, at = spec.phases[watch.phase], _true_at(turn, watch.since)
    if isinstance(turn.event, Reading) and not any(_lasts(sign, seen) for sign in phase.until):
        # A lamp may have shown it before words that took their time began this phase.
        place = spec.gauges.get(seen.gauge)
        same = math.inf if place is None else watch.senses[place].same
        at = max(watch.since, min(at, same))
    data = {"value": f"{seen.value}", "gauge": seen.gauge} if seen.value is not None else {}
    times = {"at": f"{at - watch.began:.2f}", "took": f"{at - watch.since:.2f}"}
    turn.record("start phase", spec.list_id, phase=phase.id, **times, **data)
    ended = (*watch.ended, Ended(phase.id, at))
    return watch._replace(phase=watch.phase + 1, since=at, ended=ended, asked=False)


def _lasts(sign: Sign, seen: Seen) -> bool:
    """Whether what this gauge shows counts only after a while, or by its slope."""
    if not isinstance(sign, GaugeSign) or sign.gauge != seen.gauge:
        return False
    return sign.by_slope or sign.seconds > 0.0


def _came_back(turn: Turn, spec: StartWatch, watch: Watch) -> Watch:
    """Nobody looked for a while: the phase that lasted gets its time anew."""
    event = turn.event
    assert isinstance(event, Resumed)
    watch = watch_senses.unwatched(watch)
    if not runs(spec, watch):
        return watch
    if event.gap > LONGEST_GAP:
        end(turn, spec, watch, "not watched")
        turn.say("Start watch ended.", Priority.CAUTION)
        return watch._replace(phase=len(spec.phases))
    turn.record("start watched again", spec.list_id, phase=spec.phases[watch.phase].id)
    turn.say(wording.sentence(f"Start watch goes on at {spec.phases[watch.phase].call}"))
    return watch._replace(since=turn.now)


def end(turn: Turn, spec: StartWatch, watch: Watch, outcome: str) -> None:
    """Write down what the start was: when each phase ended, lowest and highest values."""
    if watch.phase == WAITING:
        return
    data = {f"at {one.phase}": f"{one.at - watch.began:.2f}" for one in watch.ended}
    for gauge, place in spec.gauges.items():
        sense = watch.senses[place]
        if sense.lowest is not None and sense.highest is not None:
            data[f"lowest {gauge}"] = str(sense.lowest)
            data[f"highest {gauge}"] = str(sense.highest)
    seconds = f"{turn.now - watch.began:.2f}"
    turn.record("start watched", spec.list_id, outcome=outcome, seconds=seconds, **data)


def _keep(turn: Turn, spec: StartWatch, watch: Watch) -> None:
    """Store it; `watched` tells the grammar which phase lasts."""
    turn.set(watch=watch)
    phase = watch.phase if runs(spec, watch) else WAITING
    if phase != turn.state.watched:
        turn.set(watched=phase)


def start_fault(turn: Turn) -> None:
    """Break off at once: what is wrong and the first item of its list in one breath."""
    spec, watch = turn.aircraft.start_watch, turn.state.watch
    assert spec is not None
    assert watch is not None
    fault = spec.fault(turn.input.argument)
    phase = spec.phases[min(watch.phase, len(spec.phases) - 1)].id
    seconds = f"{turn.now - watch.began:.2f}"
    turn.record("start fault", spec.list_id, fault=fault.id, phase=phase, seconds=seconds)
    end(turn, spec, watch, fault.id)
    turn.hush()
    if turn.state.run is not None:
        closing.leave_list(turn, "aborted")
    turn.set(plan=(), last=None, back_to=None, doubt=None, overriding=None, wanted="")
    turn.set(watch=None, watched=WAITING)
    turn.lead = fault.call
    flow.open_list(turn, fault.abort)
    alerts.led(turn, f"start/{fault.id}", wording.abort_call(fault.call))
