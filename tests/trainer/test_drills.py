"""Every drill of the example aircraft, gone through by trainees of all kinds."""

import pytest
from practice_rig import HELPER, PILOT, drills, practise

from callout.benches.trainees import SILENT, Manner
from callout.trainer.model import PEOPLE

CASES = [
    pytest.param(name, roles, id=f"{name}-{'-'.join(role.value for role in roles)}")
    for name in sorted(drills())
    for roles in ((PILOT,), (HELPER,), (PILOT, HELPER))
]

SINGLE = [case for case in CASES if len(case.values[1]) == 1]

WANTED = {
    "start-with-ground-power",
    "disconnect-ground-power",
    "no-light-off",
    "hot-start",
    "hung-start",
    "starter-stuck",
    "residual-fire",
    "person-at-the-disc",
    "no-intercom",
    "spilled-fuel",
    "wind-shift",
    "rotor-run-down",
}


def test_the_example_aircraft_has_all_twelve_drills():
    assert WANTED == set(drills())


@pytest.mark.parametrize(("name", "roles"), CASES)
def test_a_perfect_trainee_scores_all_on_any_day(name, roles):
    day = sorted(drills()).index(name) + 100 * len(roles)
    result = practise(drills()[name], roles, seed=day).result
    assert [] == [(one.wanted, one.outcome) for one in result.calls if one.outcome != "in time"]
    assert 100 == result.percent
    assert len(result.replies) == result.answered
    assert () == result.false_calls


@pytest.mark.parametrize("name", sorted(drills()))
def test_silent_trainees_score_nothing_and_the_drill_comes_to_its_end(name):
    result = practise(drills()[name], (PILOT, HELPER), SILENT).result
    assert 0 == result.percent
    assert {"missed"} == {one.outcome for one in result.calls}


@pytest.mark.parametrize(("name", "roles"), SINGLE)
def test_a_late_trainee_loses_exactly_the_late_calls(name, roles):
    loaded = drills()[name]
    mine = [line for line in loaded.drill.lines if line.who in roles]
    late = frozenset(line.id for line in mine[::2])
    result = practise(loaded, roles, Manner(late=late)).result
    assert late == {one.line for one in result.calls if one.points == 0}
    assert 100 * sum(one.of for one in result.calls if one.line not in late) // result.of == (
        result.percent
    )
    assert {"late"} >= {one.outcome for one in result.calls if one.line in late and one.reaction}


@pytest.mark.parametrize(("name", "roles"), SINGLE)
def test_a_wrong_trainee_is_told_what_was_wrong_and_why(name, roles):
    loaded = drills()[name]
    wrong = {
        line.id: line.wrong[0] for line in loaded.drill.lines if line.who in roles if line.wrong
    }
    session = practise(loaded, roles, Manner(wrong=frozenset(wrong)))
    told = [(call.words, call.because) for call in session.result.false_calls]
    assert sorted((one.words[0], one.because) for one in wrong.values()) == sorted(told)
    shown = " ".join(one.text for one in session.state.timeline if one.kind == "false")
    assert all(one.because in shown for one in wrong.values())
    assert not wrong or session.result.percent < 100


def test_every_window_of_the_example_comes_from_the_aircraft_file():
    own = [
        (name, line.id)
        for name, one in drills().items()
        for line in one.drill.lines
        if line.who in PEOPLE and not line.within.source
    ]
    assert [] == own


def test_the_window_is_the_figure_of_the_aircraft_file():
    line = drills()["hot-start"].drill.line("closed")
    aircraft = drills()["hot-start"].aircraft.aircraft
    limits = [one for one in aircraft.gauge("exhaust-temperature").limits if one.state == "start"]
    assert limits[0].transient.seconds == line.within.seconds


def test_what_mattered_most_is_the_critical_call_and_how_late_it_was():
    session = practise(drills()["hot-start"], (PILOT,), Manner(late=frozenset({"closed"})))
    assert "Fuel lever closed came 1.5 seconds late. Only less fuel" in session.result.mattered
    spoken = [one.text for one in session.state.timeline if one.kind == "debrief"]
    assert any("came one point five seconds late" in text for text in spoken)


def test_wrong_answers_to_questions_are_put_right_with_the_reason():
    session = practise(drills()["no-light-off"], (PILOT,), Manner(answers=False))
    assert 0 == session.result.answered
    answers = [one.text for one in session.state.timeline if one.kind == "answer"]
    assert len(session.drill.questions) == sum(text.startswith("No. ") for text in answers)


def test_an_item_that_needs_both_counts_only_when_both_were_in_time():
    late = frozenset({"area-helper"})
    session = practise(drills()["start-with-ground-power"], (PILOT, HELPER), Manner(late=late))
    points = {one.line: one.points for one in session.result.calls if one.line.startswith("area")}
    assert {"area-pilot": 0, "area-helper": 0} == points


def test_every_drill_says_that_the_handbook_rules_and_never_that_it_is_safe():
    for loaded in drills().values():
        session = practise(loaded, (HELPER,))
        text = " ".join(one.text for one in session.state.timeline).lower()
        assert "handbook rules" in text
        assert "practice certifies nothing" in text
        assert "safe to" not in text


def test_the_result_is_kept_before_the_debrief_is_said():
    order = []

    class Screen:
        def line(self, now, who, text):
            if text.startswith("Score"):
                order.append("said")

    practise(
        drills()["hot-start"], (PILOT,), keep=lambda result: order.append("kept"), screen=Screen()
    )
    assert ["kept", "said"] == order


def test_a_newcomer_is_told_the_words_and_has_made_a_call_within_a_minute():
    session = practise(drills()["start-with-ground-power"], (HELPER,), coached=True)
    first = min(mark.at for mark in session.state.marks if mark.reaction is not None)
    assert first + session.state.skew < 60
    told = [one.text for one in session.state.timeline if one.kind == "coach"]
    assert "Say: ready." == told[0]
