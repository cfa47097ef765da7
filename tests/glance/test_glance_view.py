"""The view is a function of the session: what is asked, what counts, what stands, what comes."""

from __future__ import annotations

import json
from decimal import Decimal
from functools import cache

from glance_served import REEDLARK
from hypothesis import given, settings
from hypothesis import strategies as st

from callout.checklist.load import load_all
from callout.checklist.model import Aircraft, Who
from callout.engine.events import (
    Clock,
    FeedFault,
    FeedGood,
    Heard,
    Key,
    KeyMeaning,
    Lost,
    NotUnderstood,
    Reading,
    Restored,
    SessionOpened,
    SpeechEnded,
)
from callout.engine.session import Session
from callout.glance.seen import Seen, after
from callout.glance.view import Glance, as_json, glance
from callout.glance.view_ways import may_say
from callout.running.glancing import Touched
from callout.words.understand import plain, understand


@cache
def reedlark() -> Aircraft:
    return load_all(REEDLARK).aircraft


class Watched:
    """A session and what is seen of it."""

    def __init__(self, *lists: str) -> None:
        self.session = Session(reedlark())
        self.seen = Seen()
        self.now = 0.0
        self.handle(SessionOpened(lists))

    def handle(self, event, wait: float = 1.0) -> None:
        self.now += wait
        effects = self.session.handle(event, self.now)
        self.seen = after(self.seen, event, effects, self.session.state, self.now)
        if (number := self.session.state.prompt_say) is not None:
            self.handle(SpeechEnded(number))

    def say(self, text: str) -> None:
        now, grammar = self.now + 5, self.session.state.grammar
        said = understand(grammar, text)
        event = Heard(text, 1.0, grammar.serial, now, now) if said is not None else NotUnderstood(
            "not in the grammar", text, 1.0, grammar.serial, now, now
        )  # fmt: skip
        self.handle(event, wait=5)

    def read(self, gauge: str, value: str) -> None:
        self.handle(Reading(gauge, Decimal(value), self.now + 1))

    def view(self, role: Who = Who.PILOT, later: float = 0.0) -> Glance:
        return glance(reedlark(), self.seen, self.now + later, role)


def gauge(view: Glance, name: str):
    return next(one for one in view.gauges if one.name == name)


def texts(view: Glance, group: str) -> list[str]:
    return [way.text for way in view.ways if way.group == group]


def test_the_item_its_answer_and_its_place_are_shown():
    view = Watched("walk-round").view()
    assert ("walk round", "cabin, item 1 of 22", "fuel lever", "closed", True, "pilot") == (
        view.title, view.place, view.item, view.answer, view.killer, view.who
    )  # fmt: skip
    assert ("battery master", "cabin extinguisher") == view.ahead
    assert 22 == view.left


def test_right_and_wrong_answers_stand_side_by_side_and_a_killers_answer_is_held():
    view = Watched("walk-round").view()
    assert ["closed", "open"] == texts(view, "answer")
    assert [True, False] == [way.held for way in view.ways if way.group == "answer"]


def test_words_of_every_state_are_always_there():
    """DEVELOPERS.md, invariant 8."""
    watched = Watched("walk-round")
    always = ["say again", "stand by", "disregard", "abort", "help"]
    assert sorted(always) == sorted(texts(watched.view(), "always"))
    watched.say("hold")
    assert sorted(always) == sorted(texts(watched.view(), "always"))
    assert ["resume"] == texts(watched.view(), "answer")


def test_an_override_shows_reasons_first_and_its_second_step_after():
    watched = Watched("walk-round")
    watched.say("override")
    assert "confirm override" not in [way.text for way in watched.view().ways]
    assert set(reedlark().settings.reasons) <= set(texts(watched.view(), "answer"))
    watched.say("not fitted")
    confirm = next(way for way in watched.view().ways if way.text == "confirm override")
    assert ("answer", True) == (confirm.group, confirm.held)
    watched.say("confirm override")
    assert ("fuel lever (overridden)",) == watched.view().open_ones


def test_a_value_item_has_an_entry_with_its_range():
    watched = Watched("before-start")
    for words in ("override", "already done", "confirm override", "in position", "all clear"):
        watched.say(words)
    for words in ("free to turn", "calm", "fastened", "full and free", "full and free"):
        watched.say(words)
    for words in ("fully closed", "own battery", "connected"):
        watched.say(words)
    view = watched.view()
    assert view.entry is not None
    found = (view.entry.name, view.entry.unit, view.entry.lowest, view.entry.highest)
    assert ("battery voltage", "V", "0", "35") == found
    assert gauge(view, "battery voltage").wanted == (round(24.6 / 35, 4), 1.0)


def test_a_reading_stands_on_its_range_with_the_limits_that_hold():
    watched = Watched("walk-round")
    watched.read("gas-generator-speed", "57.5")
    found = gauge(watched.view(), "gas generator speed")
    assert ("58", 0.5, "", True) == (found.text, found.at, found.level, found.trusted)
    assert ((round(101 / 115, 4), "101"),) == found.cautions
    assert ((round(104 / 115, 4), "104"),) == found.nevers


def test_a_limit_passed_is_a_warning_of_the_gauge_and_stands_until_it_ends():
    watched = Watched("walk-round")
    watched.read("gas-generator-speed", "105")
    view = watched.view()
    assert "warning" == gauge(view, "gas generator speed").level
    assert [(True, False)] == [(one.grave, one.answered) for one in view.alerts]
    assert ["roger"] == texts(view, "roger")[:1]


def test_a_caution_is_no_warning():
    watched = Watched("walk-round")
    watched.read("gas-generator-speed", "102")
    assert "caution" == gauge(watched.view(), "gas generator speed").level
    assert [False] == [one.grave for one in watched.view().alerts]


def test_a_sensor_that_is_not_trusted_shows_no_value():
    watched = Watched("walk-round")
    watched.read("oil-pressure", "3.4")
    watched.handle(FeedFault("oil-pressure", "stuck", ""))
    found = gauge(watched.view(), "oil pressure")
    assert ("", None, False) == (found.text, found.at, found.trusted)
    watched.handle(FeedGood("oil-pressure"))
    assert "3.4" == gauge(watched.view(), "oil pressure").text


def test_of_a_feed_that_was_lost_no_value_is_shown():
    watched = Watched("walk-round")
    watched.read("oil-pressure", "3.4")
    watched.handle(Lost("feed", "gone"))
    assert "" == gauge(watched.view(), "oil pressure").text
    assert ("feed",) == watched.view().lost
    watched.handle(Restored("feed"))
    assert "3.4" == gauge(watched.view(), "oil pressure").text


def test_what_was_last_heard_is_shown_and_whether_it_counted():
    watched = Watched("walk-round")
    watched.say("closed")
    assert ("closed", True) == (watched.view().heard, watched.view().understood)
    watched.say("bananas")
    assert ("bananas", False) == (watched.view().heard, watched.view().understood)
    watched.handle(Key(KeyMeaning.HOLD, watched.now, "pedal"))
    assert "key hold" == watched.view().heard


def test_time_runs_down_without_an_event():
    watched = Watched("cool-down")
    for words in ("override", "already done", "confirm override", "six four"):
        watched.say(words)
    first, later = watched.view(), watched.view(later=30)
    assert "cool down at idle" == first.item
    assert 120 == first.timing[0].of
    assert 30 == first.timing[0].left - later.timing[0].left


def test_a_helpers_view_has_their_items_only():
    watched = Watched("before-start")
    for words in ("override", "already done", "confirm override"):
        watched.say(words)
    view = watched.view(Who.HELPER)
    assert "fire guard with extinguisher" == view.item
    assert {"answer", "always"} == {way.group for way in view.ways}
    watched.say("in position")
    view = watched.view(Who.HELPER)
    assert ("", "", (), None) == (view.item, view.answer, view.gauges, view.entry)
    assert ["always"] == sorted({way.group for way in view.ways})
    assert "area around and above" == watched.view().item


def test_after_the_end_nothing_can_be_said():
    watched = Watched("walk-round")
    watched.handle(Key(KeyMeaning.HOLD, 0.0))
    for words in ("disregard", "abort"):
        watched.say(words)
    watched.say("end session")
    assert watched.view().ended
    assert () == watched.view().ways


def session_words(chosen: list[int]) -> Watched:
    """Any session: at each step one of the things that the page offers is touched."""
    watched = Watched("walk-round", "before-start")
    for pick in chosen:
        view = watched.view()
        offered = [way.text for way in view.ways] + (["24.6"] if view.entry else [])
        if not offered:
            break
        watched.say(offered[pick % len(offered)])
        if pick % 3 == 0:
            watched.handle(Clock())
    return watched


@settings(max_examples=60, deadline=None)
@given(st.lists(st.integers(0, 200), max_size=25))
def test_whatever_is_touched_the_view_offers_what_the_grammar_has_and_no_more(chosen):
    watched = session_words(chosen)
    for role in Who:
        view = watched.view(role)
        assert json.loads(as_json(view))["role"] == role.value
        grammar = watched.session.state.grammar
        for way in view.ways:
            assert understand(grammar, way.text) is not None
            assert may_say(reedlark(), watched.session.state, way.text, role)
    pilots = {plain(way.text) for way in watched.view().ways}
    means = {understand(watched.session.state.grammar, text).means for text in pilots}
    refusals = ("wrong:", "start value", "correct value", "value")
    missing = {
        phrase.means
        for phrase in watched.session.state.grammar.phrases
        if not phrase.means.startswith(refusals)
    } - means
    assert watched.view().ended or set() == missing, "the voice can, a touch cannot"


@settings(max_examples=40, deadline=None)
@given(st.lists(st.integers(0, 200), max_size=12), st.integers(0, 200))
def test_a_touch_on_an_old_view_ticks_nothing(chosen, pick):
    """What a page showed before something else was asked answers nothing now."""
    watched = session_words(chosen)
    old = watched.view()
    answers = [way.text for way in old.ways if way.group == "answer"]
    for way in old.ways:
        if way.group == "answer" and watched.session.state.run is not None:
            watched.say(way.text)
            break
    state = watched.session.state
    if not answers or state.run is None or tuple(old.shown) == (
        state.grammar.serial, state.asked_at
    ):  # fmt: skip
        return
    marks = state.run.marks
    touched = Touched(answers[pick % len(answers)], *old.shown)
    now = watched.now + 3
    heard = Heard(touched.line, 1.0, state.grammar.serial, now, now)
    watched.handle(touched.meant(heard, state), wait=3)
    run = watched.session.state.run
    assert run is not None
    assert marks == run.marks
