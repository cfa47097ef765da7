"""The counters of a running session: they follow the facts of each step.

Rule of this file: whatever is counted is counted from a fact that this very step
writes down (ticked, overridden, skipped, reopened), and the count is written down
with it: neither can be lost without the other. An item passed without its answer
counts as done where that burdens, and as not done where it would relieve.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from decimal import Decimal

from callout.checklist.duties import Counter
from callout.checklist.model import CheckList
from callout.engine import alerts, counters, duties_due, wording_duties
from callout.engine.counters import Tally
from callout.engine.effects import Record
from callout.engine.state import engine_state
from callout.engine.turn import Turn

#: A tick that is reopened for one of these reasons was never right.
WRONG = frozenset({"disregard", "correction"})


def recall(turn: Turn, told: tuple[tuple[str, float, float, float], ...]) -> None:
    """Begin with what the history told: (counter, counts, seconds, when it was last)."""
    past = {one[0]: one for one in told}
    tallies = []
    for counter in turn.aircraft.counters:
        name, turns, seconds, last = past.get(counter.id, (counter.id, 0.0, 0.0, 0.0))
        known = counter.id in past
        at = turn.now + min(0.0, last) if known else None
        tallies.append(Tally(name, turns, seconds, last=at))
    _keep(turn, tallies)


def resting(turn: Turn) -> bool:
    """Whether a rest may still run since a past session."""
    return any(
        tally.last is not None and (counter.rest is not None or counter.between is not None)
        for counter, tally in zip(turn.aircraft.counters, turn.state.duties.tallies, strict=True)
    )


def _keep(turn: Turn, tallies: list[Tally]) -> None:
    turn.set(duties=replace(turn.state.duties, tallies=tuple(tallies)))


def follow(turn: Turn, fact: Record) -> None:
    """What one fact means for every counter."""
    path = fact.about
    if fact.fact == "list opened":
        counted = turn.state.duties.counted
        left = frozenset(pair for pair in counted if pair[1].partition("/")[0] != path)
        turn.set(duties=replace(turn.state.duties, counted=left))
    elif fact.fact == "session ended":
        give_back(turn)
    elif fact.fact in ("ticked", "overridden", "skipped"):
        for counter in turn.aircraft.counters:
            _passed(turn, counter, path, ticked=fact.fact == "ticked")
    elif fact.fact == "reopened":
        for counter in turn.aircraft.counters:
            _reopened(turn, counter, path, dict(fact.data))


def _passed(turn: Turn, counter: Counter, path: str, *, ticked: bool) -> None:
    key, shown = (counter.id, path), counter.id in turn.state.duties.shown
    if path in counter.counts and key not in turn.state.duties.counted:
        if not shown:  # else it was counted when the gauge began to show it
            _take(turn, counter, "counted", path)
        turn.set(duties=replace(turn.state.duties, counted=turn.state.duties.counted | {key}))
    on = tally_of(turn, counter).began is not None
    if ticked and path in counter.ends and on and not shown:
        _take(turn, counter, "count ended", path)
    if ticked and path in counter.reset_by:
        _take(turn, counter, "count set back", path)


def _reopened(turn: Turn, counter: Counter, path: str, data: Mapping[str, str]) -> None:
    """A tick that was wrong is taken back; one that is to be done again will count again."""
    why, key = data["why"], (counter.id, path)
    was_ticked = data["status"] == "ticked"
    if key in turn.state.duties.counted:
        if why in WRONG and counter.id not in turn.state.duties.shown:
            _take(turn, counter, "count taken back", path)
        if why in WRONG or (why == "go back" and was_ticked):
            counted = turn.state.duties.counted - {key}
            turn.set(duties=replace(turn.state.duties, counted=counted))
    if path in counter.ends and why in (*WRONG, "go back") and tally_of(turn, counter).ran:
        _take(turn, counter, "count goes on", path)
    if path in counter.reset_by and why in WRONG and was_ticked:
        _take(turn, counter, "count restored", path)


def read(turn: Turn, gauge: str, value: Decimal) -> None:
    """A reading that shows whether a turn goes on."""
    for counter in turn.aircraft.counters:
        if counter.shown is None or counter.shown.gauge != gauge or not value.is_finite():
            continue
        duties = turn.state.duties
        shown, was = counter.shown.band.holds(value), duties.shown
        if shown is (counter.id in was) and counter.id not in duties.unsure:
            continue
        now = was | {counter.id} if shown else was - {counter.id}
        turn.set(duties=replace(duties, shown=now, unsure=duties.unsure - {counter.id}))
        on = tally_of(turn, counter).began is not None
        if shown is not on:
            _take(turn, counter, "counted" if shown else "count ended", "", gauge=gauge)


def unsure(turn: Turn, gauge: str = "") -> None:
    """Nobody reads this gauge any more ("" for all of them): ticks tell from now on."""
    shown = turn.state.duties.shown
    lost = {c.id for c in turn.aircraft.counters if c.shown and gauge in ("", c.shown.gauge)}
    if shown & lost:
        unsure_of = turn.state.duties.unsure | (shown & lost)
        turn.set(duties=replace(turn.state.duties, shown=shown - lost, unsure=unsure_of))


def tally_of(turn: Turn, counter: Counter) -> Tally:
    """How a counter stands."""
    return turn.state.duties.tallies[turn.aircraft.counters.index(counter)]


def _take(turn: Turn, counter: Counter, fact: str, path: str, **more: str) -> None:
    """Fold one fact into the tally and write it down."""
    before = tally_of(turn, counter)
    after = counters.fold(counter, before, fact, turn.now, more)
    data = {"counter": counter.id, "count": f"{after.turns:.6g}", **more}
    if counter.ends:
        data["on"] = f"{counters.on(after, turn.now):.3f}"
    turn.record(fact, path, **data)
    if fact != counters.GAVE_BACK:  # what was ticked since tells more than what was shown
        left = turn.state.duties.unsure - {counter.id}
        turn.set(duties=replace(turn.state.duties, unsure=left))
    tallies = turn.state.duties.tallies
    _keep(turn, [after if one.counter == counter.id else one for one in tallies])
    if counter.id in turn.state.duties.late and after.began != before.began:
        _in_time(turn, counter)


def watch_state(turn: Turn) -> None:
    """An engine state that ends has given back what its time gave."""
    duties, now_in = turn.state.duties, engine_state(turn.aircraft, turn.state)
    if now_in == duties.in_state:
        return
    give_back(turn)
    turn.set(duties=replace(turn.state.duties, in_state=now_in, since=turn.now))


def give_back(turn: Turn) -> None:
    """Write down what the engine state has given back up to now."""
    duties = turn.state.duties
    seconds = f"{turn.now - duties.since:.3f}"
    for counter in turn.aircraft.counters:
        back = counter.gives_back
        if back is not None and back.state == duties.in_state and turn.now > duties.since:
            _take(turn, counter, counters.GAVE_BACK, "", seconds=seconds)
    turn.set(duties=replace(turn.state.duties, since=turn.now))


def standing(turn: Turn) -> tuple[Tally, ...]:
    """How every counter stands now, the present engine state included."""
    duties = turn.state.duties
    found = []
    for counter, tally in zip(turn.aircraft.counters, duties.tallies, strict=True):
        if counter.gives_back is not None and counter.gives_back.state == duties.in_state:
            tally = counters.give_back(counter, tally, turn.now - duties.since)
        found.append(counters.rested(counter, tally, turn.now))
    return tuple(found)


def breaking(turn: Turn, checklist: CheckList) -> tuple[tuple[Counter, counters.Refusal], ...]:
    """Counters whose limit would be broken by what this list counts."""
    found = []
    for counter in _counted_in(turn, checklist):
        refusal = counters.refusal(counter, tally_of(turn, counter), turn.now)
        if refusal is not None:
            found.append((counter, refusal))
    return tuple(found)


def broken(turn: Turn, checklist: CheckList) -> tuple[str, ...]:
    """Keys of all that keeps this list closed."""
    dues = (duties_due.NAMED + one.due.id for one in duties_due.closing(turn, checklist))
    return (*(counter.id for counter, _ in breaking(turn, checklist)), *dues)


def _counted_in(turn: Turn, checklist: CheckList) -> Iterator[Counter]:
    for counter in turn.aircraft.counters:
        if any(path.partition("/")[0] == checklist.id for path in counter.counts):
            yield counter


def refuse(turn: Turn, checklist: CheckList) -> str:
    """Why the list may not be opened now, said and written down; "" if it may."""
    found = breaking(turn, checklist)
    until = tuple((c.id, r.until) for c, r in found if r.until is not None)
    turn.set(duties=replace(turn.state.duties, refused=until))
    texts = []
    for counter, refusal in found:
        tally = counters.rested(counter, tally_of(turn, counter), turn.now)
        texts.append(wording_duties.refusal(turn.aircraft, counter, tally, refusal, turn.now))
        data = {"counter": counter.id, "limit": refusal.what, "count": f"{tally.turns:.6g}"}
        if refusal.until is not None:
            data["rest"] = f"{max(0.0, refusal.until - turn.now):.1f}"
        turn.record("duty refused", checklist.id, **data)
    texts += duties_due.refuse(turn, checklist)
    return " ".join(texts)


def remind(turn: Turn, checklist: CheckList) -> None:
    """The list may be opened: say so if it is the last time."""
    for counter in _counted_in(turn, checklist):
        tally = counters.rested(counter, tally_of(turn, counter), turn.now)
        if counter.most is not None and counters.used(tally) + 1 == int(counter.most) > 1:
            turn.say(wording_duties.last_one(turn.aircraft, counter))
    duties_due.remind(turn, checklist)


def call_due(turn: Turn) -> None:
    """A turn has lasted as long as it may: said once, until it ends."""
    for counter in turn.aircraft.counters:
        tally = tally_of(turn, counter)
        if counter.each is None or tally.began is None or counter.id in turn.state.duties.late:
            continue
        if turn.now >= tally.began + counter.each:
            late = turn.state.duties.late | {counter.id}
            turn.set(duties=replace(turn.state.duties, late=late))
            text = wording_duties.too_long(turn.aircraft, counter)
            data = {"counter": counter.id, "limit": f"{counter.each:g}"}
            alerts.raise_(
                turn, _too_long(counter), text, grave=False, fact="duty limit", about="", **data
            )


def _in_time(turn: Turn, counter: Counter) -> None:
    """The turn that lasted too long, if it did, is over."""
    late = turn.state.duties.late - {counter.id}
    turn.set(duties=replace(turn.state.duties, late=late))
    alerts.clear(turn, _too_long(counter))


def _too_long(counter: Counter) -> str:
    return f"duty/{counter.id}"


def rest_over(turn: Turn) -> None:
    """The rest for which a list was refused is over: said."""
    duties = turn.state.duties
    over = [name for name, until in duties.refused if until <= turn.now]
    left = tuple(pair for pair in duties.refused if pair[1] > turn.now)
    turn.set(duties=replace(duties, refused=left))
    for counter in turn.aircraft.counters:
        if counter.id in over and turn.state.wanted:
            turn.record("rest over", turn.state.wanted, counter=counter.id)
            turn.remark(wording_duties.rest_over(counter))
