"""Questions the pilot may ask: help, why, where am I, what is open, what counts, who is next.

Rule of this file: a question is answered and changes nothing; the prompt stays
and the time for its answer starts again.
"""

from __future__ import annotations

from callout.engine import (
    closing,
    counters_session,
    duties_due,
    flow,
    timers,
    wording,
    wording_due,
    wording_duties,
)
from callout.engine.grammar import asks_item
from callout.engine.rules import State
from callout.engine.state import Status, applies, open_items
from callout.engine.turn import Turn


def _reply(turn: Turn, text: str) -> None:
    """Cut what is being said and answer; advice that was cut is said again."""
    turn.hush()
    turn.remark(text)
    if turn.state.mode is State.ADVISING:
        turn.ask(turn.state.prompt, again=True)


def help_now(turn: Turn) -> None:
    """What can be said now: the answer first, then the ways on."""
    parts = []
    if asks_item(turn.state):
        parts.append(wording.answer_wanted(turn.aircraft, turn.item))
    first_forms: dict[str, str] = {}
    for phrase in turn.state.grammar.phrases:
        if _worth_saying(phrase.means):
            first_forms.setdefault(phrase.means, phrase.text)
    parts += first_forms.values()
    turn.record("help")
    _reply(turn, f"You can say: {', '.join(parts)}.")


def _worth_saying(means: str) -> bool:
    """One form of each universal word; answers were said already, refusals are not offered."""
    kind, _, argument = means.partition(":")
    if kind in ("word", "roger"):
        return True
    return kind in ("open", "reason", "end", "procedure", "how") and bool(argument or kind == "end")


def say_why(turn: Turn) -> None:
    """The item's reason, as its author wrote it."""
    _reply(turn, wording.sentence(turn.item.why) if turn.item.why else "No reason is written down.")


def where_am_i(turn: Turn) -> None:
    """List, place in it, item; the time left if a timer runs."""
    if turn.state.run is None or turn.state.item is None:
        _reply(turn, wording.sentence(flow.name_of_place(turn)))
        return
    here = [i for i, item in enumerate(turn.items) if applies(item, turn.state.choices)]
    number = here.index(turn.state.item) + 1
    text = f"{turn.checklist.title}, item {number} of {len(here)}. {turn.item.call}."
    if turn.state.timer is not None:
        left = round(timers.remaining(turn.state.timer, turn.now))
        text += f" {wording.time_left(left)}"
    _reply(turn, text)


def what_is_open(turn: Turn) -> None:
    """Open items of the running list by name."""
    left = open_items(turn.aircraft, turn.state)
    _reply(turn, f"Open: {wording.names(left)}." if left else "Nothing is open.")


def what_counts(turn: Turn) -> None:
    """How the counters stand."""
    tallies = counters_session.standing(turn)
    due = (wording_due.left_of(turn.aircraft, one) for one in duties_due.standing(turn))
    _reply(turn, " ".join((wording_duties.counts(turn.aircraft, tallies, turn.now), *due)))


def who_is_next(turn: Turn) -> None:
    """The next item and who does it."""
    if turn.state.run is None:
        plan = turn.state.plan
        _reply(turn, wording.next_list(turn.aircraft.list(plan[0])) if plan else closing.OFFER_ANY)
        return
    assert turn.state.item is not None
    for index in range(turn.state.item + 1, len(turn.items)):
        item = turn.items[index]
        pending = turn.run.marks[index].status is Status.PENDING
        if pending and applies(item, turn.state.choices):
            _reply(turn, f"Next: {item.call}, {item.who.value}.")
            return
    _reply(turn, "No further item.")
