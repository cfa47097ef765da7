"""Questions after the scene: why, what next, what do you see.

Rule of this file: questions and right answers come from the aircraft file alone (an
item's why, the order of its list, a gauge's limits) and are answered by its words.
"""

from __future__ import annotations

import zlib
from decimal import Decimal

from callout.checklist.model import Aircraft, Ask, Await, Item, ReadValue
from callout.engine import wording
from callout.engine.effects import ToneKind
from callout.engine.events import Heard
from callout.engine.limits import Level, judge
from callout.trainer.model import Asked, Question
from callout.trainer.state import Mode, Posed, Reply
from callout.trainer.turn import Turn
from callout.trainer.words_of import ANSWER, USUALLY, grammar_of
from callout.words.normal import normalise
from callout.words.understand import understand

CHOICES = ("one", "two", "three")

VERDICTS = {
    Level.NORMAL: "within limits",
    Level.CAUTION: "caution",
    Level.OUTSIDE: "caution",
    Level.NEVER: "limit passed",
}


def pose(aircraft: Aircraft, question: Question, highest: dict[str, float], state: str) -> Posed:
    """The question in words, with its answers."""
    if question.asked is Asked.SEE:
        return _see(aircraft, question, highest, state)
    if question.asked is Asked.NEXT:
        return _next(aircraft, question)
    return _why(aircraft, question)


def _why(aircraft: Aircraft, question: Question) -> Posed:
    """Three reasons of the same aircraft's items, one of them the right one."""
    item = _item(aircraft, question.about)
    reasons = _reasons(aircraft)
    others = [why for why in reasons if why != item.why]
    seed = zlib.crc32(question.about.encode())
    picked = [others[(seed + step) % len(others)] for step in range(min(2, len(others)))]
    place = seed % (len(picked) + 1)
    options = [*picked[:place], item.why, *picked[place:]]
    told = " ".join(
        f"{number.capitalize()}: {wording.sentence(why)}"
        for number, why in zip(CHOICES, options, strict=False)
    )
    call = _whole(item)
    return Posed(
        question, f"Why: {call}? {told}", CHOICES[: len(options)], CHOICES[place], item.why
    )


def _reasons(aircraft: Aircraft) -> list[str]:
    whys = (item.why for one in aircraft.lists for item in one.items() if item.why)
    return list(dict.fromkeys(whys))


def _next(aircraft: Aircraft, question: Question) -> Posed:
    follows = next_item(aircraft, question.about)
    assert follows is not None
    list_id = question.about.partition("/")[0]
    calls = dict.fromkeys(_call(item) for item in aircraft.list(list_id).items() if _asks(item))
    here = _item(aircraft, question.about)
    title = aircraft.list(list_id).title
    text = f"In {title}: what comes after {_whole(here)}?"
    return Posed(question, text, tuple(calls), _call(follows), _whole(follows))


def next_item(aircraft: Aircraft, about: str) -> Item | None:
    """The next item of the list that is answered."""
    list_id, _, item_id = about.partition("/")
    items = list(aircraft.list(list_id).items())
    at = next(place for place, item in enumerate(items) if item.id == item_id)
    return next((item for item in items[at + 1 :] if _asks(item)), None)


def _asks(item: Item) -> bool:
    return isinstance(item.task, Ask | ReadValue | Await)


def _item(aircraft: Aircraft, about: str) -> Item:
    list_id, _, item_id = about.partition("/")
    return next(item for item in aircraft.list(list_id).items() if item.id == item_id)


def _call(item: Item) -> str:
    return normalise(item.call)


def _whole(item: Item) -> str:
    answer = f" {item.task.answers[0]}" if isinstance(item.task, Ask) else ""
    return f"{item.call}{answer}"


def _see(aircraft: Aircraft, question: Question, highest: dict[str, float], state: str) -> Posed:
    gauge = aircraft.gauge(question.about)
    value = round(Decimal(repr(highest.get(gauge.id, 0.0))), gauge.decimals)
    verdict = judge(gauge, state, value)
    text = (
        f"The highest {gauge.call} was {wording.with_unit(aircraft, gauge, value)}. "
        "What do you see: within limits, caution, or limit passed?"
    )
    limit = verdict.limit
    because = "It is within its limits."
    if limit is not None:
        amount = wording.with_unit(aircraft, gauge, limit)
        because = f"It is {verdict.side} {amount}."
    answers = ("within limits", "caution", "limit passed")
    return Posed(question, text, answers, VERDICTS[verdict.level], because)


def ask_next(turn: Turn) -> bool:
    """Ask the next question; False when all were asked."""
    at = len(turn.state.replies)
    if at >= len(turn.drill.questions):
        turn.set(posed=None, due=None)
        return False
    stage = turn.state.stage
    assert stage is not None
    state = turn.drill.scene.engine_state
    posed = pose(turn.aircraft, turn.drill.questions[at], dict(stage.highest), state)
    turn.set(mode=Mode.ASKING, posed=posed, posed_at=turn.state.now, due=None)
    turn.listen(grammar_of(turn.drill, turn.aircraft, turn.state))
    turn.say(posed.text, kind="question")
    turn.set(last_say=posed.text)
    return True


def wait_for_answer(turn: Turn) -> None:
    """The question has been said: from now on the time for an answer runs."""
    if turn.state.posed is not None and not turn.state.speaking:
        turn.set(due=turn.state.t + turn.aircraft.settings.answer_time)


def hear(turn: Turn, event: Heard) -> None:
    """Take an answer, or a word about the question.

    What began before the question was asked answered the one before: a second microphone
    hears it too, and later.
    """
    match = understand(turn.state.grammar, event.text)
    if match is None or turn.state.posed is None or event.began < turn.state.posed_at:
        return
    turn.tell("trainee", event.text)
    kind, _, rest = match.means.partition(":")
    if kind == ANSWER:
        _reply(turn, rest)
    elif kind == USUALLY and rest == "again":
        turn.say(turn.state.posed.text)
    elif kind == USUALLY and rest == "end":
        turn.set(broken=True)
    elif kind == USUALLY:
        words = ", ".join(turn.state.posed.answers)
        turn.say(f"These answers count: {words}.")


def give_up(turn: Turn) -> None:
    """Nobody answered."""
    _reply(turn, "")


def _reply(turn: Turn, said: str) -> None:
    posed = turn.state.posed
    assert posed is not None
    reply = Reply(posed.question, posed.text, posed.right, said)
    turn.set(replies=(*turn.state.replies, reply), posed=None, due=None)
    turn.hush()
    if reply.good:
        turn.tone(ToneKind.HEARD)
        turn.say("Right.", kind="answer")
    else:
        right = posed.because if posed.right in CHOICES else f"{posed.right}. {posed.because}"
        turn.say(f"No. {wording.sentence(right)}", kind="answer")
