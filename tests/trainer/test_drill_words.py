"""What counts in a drill, and what is likely, as it goes on.

Rule of this file: the real drills of the example; words are typed, no ear is needed.
"""

from practice_rig import HELPER, PILOT, drills
from test_drill_session import Driver

from callout.benches.trainees import Manner, Trainee
from callout.engine.effects import Listen
from callout.engine.events import NotUnderstood
from callout.trainer.quiz import pose
from callout.trainer.state import DrillState
from callout.trainer.words_of import grammar_of
from callout.words.normal import normalise
from callout.words.phrases import EXPECTED


def phrases(driver):
    return {phrase.text: phrase for phrase in driver.session.state.grammar.phrases}


def begun(name, role):
    driver = Driver(name, (role,))
    driver.say_all(2)
    driver.wait(0.2)
    return driver


def test_two_ways_to_say_one_call_are_no_rivals_and_two_calls_are():
    found = phrases(begun("residual-fire", HELPER))
    assert found["fire in the exhaust"].means == found["fire"].means
    assert found["fire"].means != found["bottle at hand"].means


def test_wrong_words_for_one_call_that_are_right_for_another_stay_apart():
    driver = begun("hot-start", PILOT)
    found = phrases(driver)
    closed = driver.session.drill.line("closed")
    assert "starter released" in closed.wrong[0].words
    assert found["starter released"].means != found["battery master isolated"].means


def test_what_is_asked_for_now_is_likely_right_words_and_wrong_ones_alike():
    driver = begun("start-with-ground-power", HELPER)
    driver.say_all(1)
    found = phrases(driver)
    likely = {text for text, phrase in found.items() if phrase.likely}
    assert {"ready", "fire guard ready", "understood", "roger", "okay"} <= likely
    assert {EXPECTED} == {found[text].likely for text in likely}
    assert "plug removed" not in likely
    assert "say again" not in likely


def test_the_ear_is_told_when_something_else_becomes_likely():
    driver = begun("start-with-ground-power", HELPER)
    driver.say_all(1)
    before = driver.session.state.grammar.serial
    effects = driver.hear("ready")
    told = [one.grammar for one in effects if isinstance(one, Listen)]
    assert [driver.session.state.grammar] == told
    assert before < told[0].serial
    likely = {phrase.text for phrase in told[0].phrases if phrase.likely}
    assert "ready" not in likely
    assert "nobody behind" in likely


def test_a_false_call_is_told_in_the_words_that_were_said():
    driver = begun("start-with-ground-power", HELPER)
    driver.say_all(1)
    driver.hear("roger")
    (call,) = driver.session.state.false_calls
    assert "roger" == call.words
    assert "Ready says that you hold the bottle" in call.because


def test_answers_of_a_question_are_likely():
    loaded = drills()["no-light-off"]
    aircraft = loaded.aircraft.aircraft
    posed = pose(aircraft, loaded.drill.questions[0], {}, "start")
    grammar = grammar_of(loaded.drill, aircraft, DrillState((PILOT,), posed=posed))
    likely = {phrase.text for phrase in grammar.phrases if phrase.likely}
    assert {normalise(answer) for answer in posed.answers} == likely


def test_whoever_was_not_understood_says_it_again_and_not_at_once():
    driver = begun("start-with-ground-power", HELPER)
    driver.say_all(1)
    driver.wait(1.0)
    trainee = Trainee(driver.session, Manner(reaction=0.6))
    first = trainee.next()
    trainee.spoke()
    assert trainee.next() is None
    driver.do(NotUnderstood("not sure enough", "ready", 0.2, 1, driver.now, driver.now))
    again = trainee.next()
    assert ("ready", "fire guard ready") == (first[1], again[1])
    assert abs(again[0] - (driver.now + 0.6)) < 0.02
