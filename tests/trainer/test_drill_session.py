"""The drill engine, event by event."""

import pytest
from practice_rig import HELPER, PILOT, drills

from callout.engine.effects import Listen, Record, Say, Show, StopSaying, Tone
from callout.engine.events import Clock, Heard, NotUnderstood, SessionOpened, SpeechEnded, Stopped
from callout.trainer.session import DrillSession, Practice
from callout.trainer.state import Mode


class Driver:
    """A session whose sentences end when the test says so."""

    def __init__(self, name, roles, coached=False):
        loaded = drills()[name]
        self.session = DrillSession(
            loaded.drill, loaded.aircraft.aircraft, Practice(roles, coached)
        )
        self.now = 0.0
        self.effects = []
        self.do(SessionOpened())

    def do(self, event):
        effects = self.session.handle(event, self.now)
        self.effects += effects
        return effects

    def say_all(self, most=60):
        for _ in range(most):
            waiting = self.session.state.speaking
            if not waiting:
                return
            self.now += 2.0
            self.do(SpeechEnded(waiting[0][0]))

    def wait(self, seconds):
        ends = self.now + seconds
        while self.session.next_deadline() is not None and self.session.next_deadline() <= ends:
            self.now = max(self.now, self.session.next_deadline())
            self.do(Clock())
        self.now = ends

    def hear(self, text, source="keys"):
        serial = self.session.state.grammar.serial
        return self.do(Heard(text, 1.0, serial, self.now, self.now, source))

    def mark(self, line):
        return self.session.state.mark(self.session.drill, line)


def at_the_pilots_first_call():
    driver = Driver("hot-start", (PILOT,))
    driver.say_all(2)
    driver.wait(0.2)
    return driver


def first_line(driver):
    return driver.session.drill.lines[1].id


def test_a_right_call_in_time_is_a_hit_with_its_reaction():
    driver = at_the_pilots_first_call()
    driver.wait(1.5)
    driver.hear("starter engaged")
    mark = driver.mark(first_line(driver))
    assert "hit" == mark.standing.value
    assert 1.4 <= mark.reaction <= 1.8


def test_a_hit_moves_the_control_and_the_machine_follows():
    driver = at_the_pilots_first_call()
    driver.hear("starter engaged")
    driver.wait(5)
    assert driver.session.state.stage.gauges["gas-generator-speed"] > 5


def test_words_before_their_time_are_a_false_call_and_can_still_be_said_later():
    driver = at_the_pilots_first_call()
    driver.hear("fuel lever closed")
    assert ["too early"] == [one.kind for one in driver.session.state.false_calls]
    assert "waiting" == driver.mark("closed").standing.value


def test_an_abort_that_nothing_asked_for_is_told_so_and_forgiven_in_words():
    driver = at_the_pilots_first_call()
    driver.hear("abort")
    (call,) = driver.session.state.false_calls
    assert "too early" == call.kind


def test_a_false_call_that_is_taken_back_at_once_costs_nothing_but_stays_in_the_timeline():
    driver = at_the_pilots_first_call()
    driver.hear("fuel lever closed")
    driver.hear("disregard")
    assert () == driver.session.state.false_calls
    assert "false" in [one.kind for one in driver.session.state.timeline]


def test_free_words_never_count():
    driver = at_the_pilots_first_call()
    driver.hear("i have engaged the starter now")
    assert "open" == driver.mark(first_line(driver)).standing.value
    assert () == driver.session.state.false_calls


def test_what_was_not_understood_costs_nothing_and_sounds():
    driver = at_the_pilots_first_call()
    effects = driver.do(NotUnderstood("not sure enough", "starter", 0.2, 1, 0.0, 0.0))
    assert any(isinstance(one, Tone) for one in effects)
    assert "open" == driver.mark(first_line(driver)).standing.value


def test_a_call_that_is_repeated_is_no_false_call():
    driver = at_the_pilots_first_call()
    driver.hear("starter engaged")
    driver.hear("starter engaged")
    assert () == driver.session.state.false_calls


def test_standing_by_stops_the_machine_and_the_window_until_resume():
    driver = at_the_pilots_first_call()
    driver.hear("stand by")
    driver.wait(100)
    assert driver.session.next_deadline() is None
    driver.hear("resume")
    driver.wait(1)
    driver.hear("starter engaged")
    assert driver.mark(first_line(driver)).reaction < 2


def test_gauges_are_read_when_asked_for_as_the_machine_shows_them():
    driver = at_the_pilots_first_call()
    effects = driver.hear("battery voltage")
    said = [one.text for one in effects if isinstance(one, Say)]
    assert ["Battery voltage: two eight point zero volts."] == said or "Battery voltage:" in said[0]


def test_help_tells_the_words_and_marks_the_line_as_coached():
    driver = at_the_pilots_first_call()
    effects = driver.hear("help")
    assert ["Say: starter engaged."] == [one.text for one in effects if isinstance(one, Say)]
    assert driver.mark(first_line(driver)).coached


def test_say_again_repeats_the_last_call():
    driver = at_the_pilots_first_call()
    effects = driver.hear("say again")
    said = [one.text for one in effects if isinstance(one, Say)]
    assert said[0].startswith("The pilot sits ready")


def test_words_of_the_other_person_are_refused_by_name_where_each_has_his_microphone():
    driver = Driver("start-with-ground-power", (PILOT, HELPER))
    driver.say_all(2)
    driver.wait(0.2)
    driver.hear("fire guard", "built-in:helper")
    (call,) = driver.session.state.false_calls
    assert "not yours" == call.kind
    assert "pilot" in call.because


def test_a_drill_that_is_ended_is_not_counted():
    driver = at_the_pilots_first_call()
    effects = driver.hear("end drill")
    driver.say_all()
    assert driver.session.ended
    assert [] == [one for one in (*driver.effects, *effects) if isinstance(one, Record)]


@pytest.mark.parametrize("name", sorted(drills()))
def test_a_drill_can_be_stopped_at_any_time(name):
    driver = Driver(name, (HELPER,))
    driver.do(Stopped("the recording is over"))
    assert driver.session.ended
    assert driver.session.state.broken


def test_effects_come_in_their_order():
    order = [Record, Show, Listen, StopSaying, Tone, Say]
    driver = at_the_pilots_first_call()
    for event in (Clock(), SpeechEnded(99)):
        places = [order.index(type(one)) for one in driver.do(event)]
        assert sorted(places) == places
    places = [order.index(type(one)) for one in driver.hear("starter engaged")]
    assert sorted(places) == places


def test_words_into_the_introduction_cut_it_and_the_drill_begins():
    driver = Driver("hot-start", (PILOT,))
    effects = driver.hear("starter engaged")
    assert any(isinstance(one, StopSaying) for one in effects)
    assert Mode.RUNNING is driver.session.state.mode


def test_the_same_events_give_the_same_effects():
    def through():
        driver = at_the_pilots_first_call()
        driver.hear("starter engaged")
        driver.wait(20)
        return driver.effects

    assert through() == through()
