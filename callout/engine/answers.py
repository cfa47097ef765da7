"""What an answer does: ticks the item, is refused, or is asked about.

Rule of this file: every tick goes through `tick`, and a tick that came sooner
than a person could have looked is queried once (answers under a second with
the right words and the wrong flaps: NTSB/AAR-89/04, as quoted by a survey).
"""

from __future__ import annotations

from decimal import Decimal

from callout.checklist.model import Ask, Await, Band, Choose, Item, ReadValue
from callout.engine import alerts, cooldown, duties, flow, marks, rundown_fire, wording
from callout.engine.effects import Priority, ToneKind
from callout.engine.events import Heard, Key
from callout.engine.grammar import gauge_of
from callout.engine.limits import Level, Verdict, judge
from callout.engine.rules import State
from callout.engine.state import Doubt, Status
from callout.engine.turn import Turn


def look_time(turn: Turn) -> float:
    """Seconds a person needs to look at the item in hand."""
    item = turn.item
    if item.look_time > 0:
        return item.look_time
    return turn.aircraft.settings.look_time if isinstance(item.task, Ask | ReadValue) else 0.0


def latency(turn: Turn) -> float | None:
    """Seconds from the end of the call to the answer; below 0 while it was said."""
    event = turn.event
    if not isinstance(event, Heard | Key):
        return None
    began = event.began if isinstance(event, Heard) else event.at
    if turn.state.prompt_ended_at is None:
        return min(0.0, began - turn.now)
    return began - turn.state.prompt_ended_at


def too_quick(turn: Turn) -> bool:
    """Query an answer that came before a person could have looked; once per item."""
    gap = latency(turn)
    if gap is None or turn.state.queried or gap >= look_time(turn):
        return False
    if look_time(turn) <= 0:
        return False
    turn.set(queried=True)
    turn.record("quick answer", words=turn.input.text, latency=f"{gap:.2f}")
    turn.hush()
    turn.ask(f"That was quick. {wording.prompt(turn.aircraft, turn.item)}", again=True)
    return True


def tick(turn: Turn, answer: str) -> None:
    """Tick the item in hand and write down by what."""
    assert turn.state.item is not None
    marks.remember(turn)
    turn.mark(turn.state.item, Status.TICKED, answer)
    turn.record("ticked", answer=answer, who=turn.item.who.value, **_evidence(turn))
    alerts.settle(turn)


def _evidence(turn: Turn) -> dict[str, str]:
    event = turn.event
    if isinstance(event, Heard):
        data = {"words": event.text, "certainty": f"{event.certainty:.2f}", "by": event.source}
    elif isinstance(event, Key):
        data = {"by": "key", "key": event.source}
    else:
        return {"by": type(event).__name__}
    gap = latency(turn)
    return data if gap is None else {**data, "latency": f"{gap:.2f}"}


def take_answer(turn: Turn) -> None:
    """The item's own full answer."""
    if cooldown.blocks(turn):
        cooldown.refuse(turn, wording.prompt(turn.aircraft, turn.item))
        return
    if too_quick(turn):
        return
    tick(turn, turn.input.argument)
    turn.hush()
    turn.tone(ToneKind.HEARD)
    flow.advance(turn)


def take_option(turn: Turn) -> None:
    """A choice was made: it decides which items apply."""
    item, option = turn.item, turn.input.argument
    assert isinstance(item.task, Choose)
    marks.choose(turn, item.id, option)
    tick(turn, option)
    turn.hush()
    turn.tone(ToneKind.HEARD)
    flow.advance(turn)


def refuse_answer(turn: Turn) -> None:
    """A likely wrong answer: named, and the item stays open."""
    drop_doubt(turn)
    turn.record("wrong answer", words=turn.input.text)
    turn.hush()
    turn.tone(ToneKind.NOT_UNDERSTOOD)
    wanted = wording.answer_wanted(turn.aircraft, turn.item)
    turn.ask(
        f"Heard {turn.input.text}, not accepted. Wanted: {wanted}. "
        + wording.prompt(turn.aircraft, turn.item),
        again=True,
    )


def take_value(turn: Turn) -> None:
    """One value: judged against limits and range."""
    drop_doubt(turn)
    accept_value(turn, turn.input.values[0])


def drop_doubt(turn: Turn) -> None:
    """Back to the item itself: what was to be confirmed no longer is."""
    turn.set(doubt=None, mode=flow.item_state(turn.item))


def wanted_band(item: Item) -> Band:
    """The range a value item asks for."""
    if isinstance(item.task, Await):
        return item.task.condition.band
    assert isinstance(item.task, ReadValue)
    return item.task.accept


def accept_value(turn: Turn, value: Decimal) -> None:
    """Tick a value in range; read back any other, with its limit."""
    item = turn.item
    gauge = gauge_of(turn.aircraft, item)
    assert gauge is not None
    if rundown_fire.called_out(turn, gauge.id, value):
        return
    turn.called = (gauge.id, value)
    duties.called_out(turn, gauge.id, value)
    verdict = judge(gauge, turn.checklist.engine_state, value, wanted_band(item))
    if verdict.level in (Level.OUTSIDE, Level.NEVER):
        refuse_value(turn, value, verdict)
        return
    if too_quick(turn):
        return
    tick(turn, str(value))
    turn.hush()
    if verdict.level is Level.CAUTION:
        turn.record("caution", value=str(value), limit=str(verdict.limit))
        text = wording.out_of_range(turn.aircraft, gauge, value, verdict)
        turn.say(text, Priority.CAUTION, tone=ToneKind.CAUTION)
    else:
        turn.tone(ToneKind.HEARD)
        turn.say(wording.read_back(turn.aircraft, gauge, value))
    flow.advance(turn)


def refuse_value(turn: Turn, value: Decimal, verdict: Verdict) -> None:
    """Out of range: value and limit are spoken back and the item stays open."""
    gauge = gauge_of(turn.aircraft, turn.item)
    assert gauge is not None
    never = verdict.level is Level.NEVER
    fact = "limit passed" if never else "out of range"
    data = {"gauge": gauge.id, "value": str(value), "limit": str(verdict.limit)}
    turn.hush()
    text = wording.out_of_range(turn.aircraft, gauge, value, verdict)
    if not never:
        turn.record(fact, **data)
        turn.say(text)
    else:
        alerts.happened(turn, f"{gauge.id}/said", text, fact=fact, **data)
    turn.ask(wording.prompt(turn.aircraft, turn.item), again=True)


def refuse_impossible(turn: Turn) -> None:
    """A number that the gauge cannot show was misheard or misread."""
    drop_doubt(turn)
    turn.record("impossible value", words=turn.input.text)
    turn.hush()
    turn.tone(ToneKind.NOT_UNDERSTOOD)
    turn.ask(
        f"Heard {turn.input.text}, the gauge cannot show that. "
        + wording.prompt(turn.aircraft, turn.item),
        again=True,
    )


def ask_which_value(turn: Turn) -> None:
    """The words may mean two values: read back the likelier one, digit by digit."""
    turn.set(doubt=Doubt(turn.input.values, turn.input.text), mode=State.CONFIRMING)
    turn.record(
        "doubtful value",
        words=turn.input.text,
        values="; ".join(str(value) for value in turn.input.values),
    )
    turn.hush()
    ask_about(turn)


def ask_about(turn: Turn) -> None:
    """Ask for affirm or negative about the first value in doubt."""
    doubt, gauge = turn.state.doubt, gauge_of(turn.aircraft, turn.item)
    assert doubt is not None
    assert gauge is not None
    read = wording.with_unit(turn.aircraft, gauge, doubt.values[0])
    turn.ask(wording.sentence(f"Confirm {read}. Affirm, negative, or the digits"), again=True)


def value_confirmed(turn: Turn) -> None:
    """The pilot affirmed the value read back."""
    assert turn.state.doubt is not None
    value = turn.state.doubt.values[0]
    drop_doubt(turn)
    accept_value(turn, value)


def value_denied(turn: Turn) -> None:
    """Not that one: asked for again, as digits."""
    turn.record("value denied")
    drop_doubt(turn)
    turn.hush()
    turn.ask(f"Say the digits. {wording.prompt(turn.aircraft, turn.item)}", again=True)


def not_confirmed(turn: Turn) -> None:
    """Negative or unable: the item stays open, and the ways on are named.

    An item that ends by itself, by time or by being said, waits for resume.
    """
    turn.record("not confirmed", words=turn.input.text)
    turn.hush()
    mode, by_itself = turn.state.mode, turn.state.mode in (State.ADVISING, State.TIMING)
    ways = "override" if turn.item.killer else "defer, skip"
    first = "resume" if by_itself else "the answer"
    turn.ask(f"Stays open. {turn.item.call}. Say {first}, {ways}, hold, or abort.", again=True)
    if by_itself:
        turn.set(back_to=mode, mode=State.STANDING_BY, answer_due=None)
