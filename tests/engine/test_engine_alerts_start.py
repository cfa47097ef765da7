"""The call to abort a start: in one breath with its first item, then until it is answered."""

from __future__ import annotations

from engine_rig import mode
from engine_start import Starting, effects_of, hot, starting, urgent

from callout.engine.effects import Priority, Say
from callout.engine.events import Heard, SpeechEnded
from callout.engine.rules import State


def hung() -> Starting:
    """A hang passes no limit: nothing but the call itself says so."""
    one = starting().lit().feed(20.0, speed=35.0, heat=650.0).feed(9.0, speed=35.5)
    while not one.faults:
        one.feed(0.1, speed=35.5)
    return one


def warnings(one: Starting) -> list[str]:
    return [e.text for e in one.effects if isinstance(e, Say) and e.priority is Priority.WARNING]


def repeats(one: Starting, seconds: float) -> list[str]:
    """Warnings said while nobody answers, each sentence being said to its end in 2 s."""
    until, found = one.now + seconds, []
    while (due := one.session.next_deadline()) is not None and due <= until:
        one.wait(max(0.0, due - one.now))
        new = warnings(one)
        found += new
        for say in [e.say for e in one.effects if isinstance(e, Say)]:
            one.now += 2.0
            one.handle(SpeechEnded(say))
    return found


def test_an_abort_call_that_nobody_answers_is_said_again_until_somebody_does():
    one = hung()
    (call,) = urgent(effects_of(one, "start fault"))
    assert 1 == len(one.session.state.alerts)
    text = one.session.state.alerts[0].text
    assert ("Abort, fuel lever. Hung start.", "Hung start. Abort.") == (call, text)
    found = repeats(one, 90.0)

    assert State.STANDING_BY is mode(one)
    assert 5 <= found.count(text)


def test_an_answer_to_its_first_item_answers_it():
    one = hung()
    one.hear_out()
    answer = next(p.text for p in one.session.state.grammar.phrases if p.means.startswith("answer"))
    one.say(answer)

    assert () == one.session.state.alerts
    assert [] == repeats(one, 60.0)


def test_roger_answers_it_and_leaves_the_item():
    one = hung()
    item = one.session.state.item
    one.now += 2.0
    serial = one.session.state.grammar.serial
    one.handle(Heard("roger", 1.0, serial, one.now - 0.5, one.now, "test"))

    assert () == one.session.state.alerts
    assert item == one.session.state.item
    assert [] == repeats(one, 60.0)


def test_a_limit_that_the_abort_call_cuts_short_was_not_heard_until_it_is_said():
    """The call of the hot start comes first; "roger" then says nothing about the limit."""
    one = hot(starting())
    waiting = [a for a in one.session.state.alerts if a.say is not None and a.grave]
    assert waiting
    assert all(a.began is None for a in waiting)
    one.now += 1.5
    serial = one.session.state.grammar.serial
    one.handle(Heard("roger", 1.0, serial, one.now - 0.2, one.now, "test"))

    assert [a.key for a in waiting] == [
        a.key for a in one.session.state.alerts if not a.answered and a.say is not None and a.grave
    ]
