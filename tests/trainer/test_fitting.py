"""The simulated engine as an aircraft's own: what follows its file, and what is refused.

Rule of this file: aircraft files are the example with other figures; what must come out
is worked out from those figures here, and the engine is really run.
"""

import pytest
from practice_rig import PILOT, REEDLARK, drills, practise

from callout.checklist.load import load_all
from callout.checklist.problems import FileProblems
from callout.trainer import scene
from callout.trainer.fitting import BELOW_LIMIT, engine_for
from callout.trainer.load import load_drill
from callout.trainer.model import Scene

FOLDER = REEDLARK.parent / "drills" / "reedlark"

START, RUNNING = Scene(engine_state="start"), Scene(running=True, engine_state="running")


def changed(tmp_path, *pairs):
    text = REEDLARK.read_text(encoding="utf-8")
    for old, new in pairs:
        assert old in text
        text = text.replace(old, new)
    file = tmp_path / "changed.yaml"
    file.write_text(text, encoding="utf-8")
    return load_all(file)


def idle(low, high):
    """Every place where the example says where it idles."""
    return (("at_least: 61", f"at_least: {low}"), ("at_most: 67", f"at_most: {high}"))


def idling(aircraft, state="running"):
    where = Scene(running=True, engine_state=state)
    return scene.begin(where, 0, engine_for(aircraft, where)).gauges


def refused(loaded, name):
    with pytest.raises(FileProblems) as found:
        load_drill(FOLDER / f"{name}.yaml", loaded)
    return [str(one).rpartition("/")[2] for one in found.value.problems]


@pytest.mark.parametrize(("low", "high"), [(61, 67), (70, 74), (57, 60)])
def test_it_idles_where_the_aircraft_file_says(tmp_path, low, high):
    loaded = changed(tmp_path, *idle(low, high)) if low != 61 else load_all(REEDLARK)
    assert low <= idling(loaded.aircraft)["gas-generator-speed"] <= high


def test_a_drill_is_flown_with_the_idle_of_its_aircraft(tmp_path):
    loaded = changed(tmp_path, *idle(70, 74))
    session = practise(load_drill(FOLDER / "start-with-ground-power.yaml", loaded), (PILOT,))
    assert 100 == session.result.percent
    (told,) = [one.text for one in session.state.timeline if one.text.endswith("Idle.")]
    assert told.startswith("Speed seven ")


def test_an_idle_that_the_simulated_engine_cannot_hold_is_refused_at_its_place(tmp_path):
    found = refused(changed(tmp_path, *idle(88, 92)), "start-with-ground-power")
    assert found[0] == (
        'start-with-ground-power.yaml:43:13: a drill cannot show "gas-generator-speed": the '
        "simulated engine can idle from 55 to 82 %, and the aircraft file wants 88 to 92 %; "
        "expected another gauge"
    )


def test_a_limit_that_a_sound_start_would_pass_is_refused(tmp_path):
    loaded = changed(
        tmp_path,
        ("transient: {above: 740, for: 5 s, never_above: 800}",
         "transient: {above: 480, for: 5 s, never_above: 500}"),
        ("        never: {above: 800}\n", "        never: {above: 500}\n"),
        ("heads_for: 800", "heads_for: 500"),
    )  # fmt: skip
    (first, *_) = refused(loaded, "hot-start")
    assert "exhaust-temperature though nothing is wrong" in first
    assert "the limit of the aircraft file is 500 degC" in first


def test_the_hand_on_the_lever_waits_below_the_limit_of_the_aircraft_file(tmp_path):
    cooler = changed(
        tmp_path,
        ("transient: {above: 740,", "transient: {above: 690,"),
    ).aircraft
    assert 690 - BELOW_LIMIT == engine_for(cooler, START).plan.eases_at
    assert 740 - BELOW_LIMIT == (engine_for(load_all(REEDLARK).aircraft, START).plan.eases_at)


def test_a_gauge_in_another_unit_is_shown_in_that_unit(tmp_path):
    """Degrees Fahrenheit by their definition: 9/5 of degrees Celsius, and 32."""
    celsius = idling(load_all(REEDLARK).aircraft)["oil-temperature"]
    text = REEDLARK.read_text(encoding="utf-8")
    place = text.index("  oil-temperature:")
    text = text[:place] + text[place:].replace("unit: degC", "unit: degF", 1).replace(
        "range: -40 to 150", "range: -40 to 300", 1
    ).replace("above: 95}", "above: 203}", 1).replace("above: 107}", "above: 225}", 1)
    file = tmp_path / "fahrenheit.yaml"
    file.write_text(text, encoding="utf-8")
    shown = idling(load_all(file).aircraft)["oil-temperature"]
    assert abs(celsius * 9 / 5 + 32 - shown) < 1e-6


def test_a_gauge_that_is_not_simulated_or_counts_otherwise_is_not_told():
    gyroplane = load_all(REEDLARK.parent / "gyroplane.yaml").aircraft
    engine = engine_for(gyroplane, RUNNING)
    assert (
        "the simulated engine shows rotor-speed in %, the aircraft file in rpm"
        == (engine.left_out["rotor-speed"])
    )
    assert "coolant-temperature" in engine.left_out
    assert {"rotor-speed", "coolant-temperature"}.isdisjoint(idling(gyroplane))


def test_every_drill_of_the_example_is_shown_by_the_engine_of_its_aircraft():
    for one in drills().values():
        left = engine_for(one.aircraft.aircraft, one.drill.scene).left_out
        assert {"altimeter-setting"} == set(left)


OWN = """drill: 1
aircraft: {aircraft}
title: smoke on the stand
about: Smoke is seen while the engine runs.
roles: [pilot]
scene:
  engine: idle
  gauges: {{shaft-speed: gas-generator-speed}}
lines:
  - situation: The engine idles on the stand, and grey smoke comes from the left.
  - pilot: fuel valve closed
    item: stop-the-test/fuel-valve
    within: 5 s
    does: {{fuel: closed}}
  - gauges: Speed {{shaft-speed}}, temperature {{exhaust-temperature}}.
    when: {{gauge: shaft-speed, at_most: 20}}
  - pilot: main switch isolated
    item: stop/main-switch
questions: [{{see: shaft-speed}}]
"""


def test_an_owner_of_another_machine_writes_his_own_drill(tmp_path):
    file = tmp_path / "smoke.yaml"
    text = OWN.format(aircraft=REEDLARK.parent / "crew-stand.yaml")
    file.write_text(text, encoding="utf-8")
    session = practise(load_drill(file), (PILOT,))
    assert (100, 1) == (session.result.percent, session.result.answered)
    (told,) = [one.text for one in session.state.timeline if one.who == "gauges"]
    assert told.startswith("Speed two zero percent, temperature ")


def test_a_gauge_under_another_name_has_to_be_named(tmp_path):
    file = tmp_path / "smoke.yaml"
    text = OWN.format(aircraft=REEDLARK.parent / "crew-stand.yaml")
    file.write_text(text.replace("  gauges: {shaft-speed: gas-generator-speed}\n", ""))
    with pytest.raises(FileProblems) as found:
        load_drill(file)
    (first, *_) = (str(one).rpartition("/")[2] for one in found.value.problems)
    assert first.startswith('smoke.yaml:14:13: a drill cannot show "shaft-speed": the simulated')
    assert "one of these may stand for it in the scene's gauges" in first
