"""Drill files: what is refused, where it stands, and what would be right."""

import json
from pathlib import Path

import jsonschema
import pytest
import yaml
from click.testing import CliRunner
from practice_rig import PILOT, REEDLARK, drills, practise

from callout.checklist.load import load_all
from callout.checklist.problems import FileProblems
from callout.cli.main import main
from callout.trainer.load import drills_of, is_drill, load_drill
from callout.trainer.schema import json_schema

FOLDER = REEDLARK.parent / "drills" / "reedlark"

GOOD = f"""drill: 1
aircraft: {REEDLARK}
title: a try
about: Something is tried.
roles: [helper]
lines:
  - situation: You stand at the bottle.
  - helper: ready
    item: start/fire-guard
    within: reactions/answer
"""


def problems(tmp_path, text):
    file = tmp_path / "try.yaml"
    file.write_text(text, encoding="utf-8")
    with pytest.raises(FileProblems) as found:
        load_drill(file)
    return [str(one).replace(str(tmp_path), "") for one in found.value.problems]


def test_a_drill_is_loaded_with_its_window_and_its_items_reason(tmp_path):
    file = tmp_path / "try.yaml"
    file.write_text(GOOD, encoding="utf-8")
    line = load_drill(file).drill.lines[1]
    assert ("ready",) == line.words
    assert (8.0, "reactions/answer") == (line.within.seconds, line.within.source)


BROKEN = [
    ("drill: 1", "drill: 2", ('/try.yaml:1:8: the file is written in version "2" of drills; '
     "this program reads version 1")),
    ("item: start/fire-guard", "item: start/fire-gard",
     ('/try.yaml:9:11: there is no item "start/fire-gard" in the aircraft file; expected '
     'list/item; did you mean "start/fire-guard"?')),
    ("within: reactions/answer", "within: reactions/anser",
     ('/try.yaml:10:13: there is no time at "reactions/anser" in the aircraft file; '
     'did you mean "reactions/answer"?')),
    ("helper: ready", "helper: redy",
     '/try.yaml:9:11: the item "start/fire-guard" is not answered by "redy"; expected "ready"'),
    ("helper: ready", "helpr: ready",
     '/try.yaml:8:5: unknown key "helpr" in "lines"; did you mean "helper"?'),
    ("within: reactions/answer", "within: 90",
     ('/try.yaml:10:13: found "90"; expected a time such as "90 s" or "1 min 30 s"; '
     'did you mean "90 s"?')),
    ("roles: [helper]", "roles: [pilot]",
     ("/try.yaml:5:8: the pilot can train this drill, but no line is the pilot's; "
     'expected a line with "pilot"')),
    ("You stand", "Look, {speeed}. You stand",
     '/try.yaml:7:16: there is no gauge "speeed" in the aircraft file'),
    ("within: reactions/answer", "after: nowhere",
     '/try.yaml:10:12: no line above is named "nowhere"'),
    ("within: reactions/answer", "signal: fyre",
     '/try.yaml:10:13: there is no hand signal "fyre"; did you mean "fire"?'),
    ("within: reactions/answer", "does: {fuel: ajar}",
     "/try.yaml:10:18: found 'ajar'; expected on, off, open, closed or a number"),
    ("within: reactions/answer", "does: {tailwnd: 5}",
     ('/try.yaml:10:12: found "tailwnd"; expected fuel, starter, ignition, ground-power, grip, '
      "temperature, altitude, battery, residual-heat, battery-resistance, starter-resistance, "
      "starter-sticks, igniter-dead, fuel-excess, fuel-leak or tailwind; did you mean "
      '"tailwind"?')),
    ("within: reactions/answer", "within: reactions/quench",
     ('/try.yaml:10:13: there is no time at "reactions/quench" in the aircraft file; write it '
      'there under "reactions", or give a time such as "6 s"')),
    ("within: reactions/answer", "does: {tailwind: 5}",
     '/try.yaml:10:22: "tailwind" is no control of the aircraft; expected it with a situation'),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "wanted"), BROKEN)
def test_what_is_wrong_is_told_with_its_place_and_what_would_be_right(tmp_path, old, new, wanted):
    found = problems(tmp_path, GOOD.replace(old, new))
    assert [wanted] == [one for one in found if one == wanted], found


def test_a_scene_that_the_simulator_cannot_play_is_refused(tmp_path):
    text = GOOD + "scene: {amounts: {battery: 3, starter: on}}\n"
    found = "\n".join(problems(tmp_path, text))
    assert '"battery" goes from 0 to 1' in found or "found" in found


def test_questions_are_only_about_what_the_file_has(tmp_path):
    text = GOOD + "questions:\n  - why: start/fire-guard\n  - see: sped\n"
    found = problems(tmp_path, text)
    assert any("has no why" in one for one in found)
    assert any('there is no gauge "sped"' in one for one in found)


def test_a_file_that_is_no_drill_says_so(tmp_path):
    assert ['/try.yaml:1:1: the first key is "callout"; expected "drill: 1" as the first line'] == (
        problems(tmp_path, "callout: 1\n")
    )
    assert not is_drill(REEDLARK)
    assert is_drill(FOLDER / "hot-start.yaml")


@pytest.mark.parametrize("file", sorted(FOLDER.glob("*.yaml")), ids=lambda file: file.stem)
def test_the_schema_takes_every_drill_of_the_example(file):
    tree = yaml.load(file.read_text(encoding="utf-8"), Loader=yaml.BaseLoader)
    jsonschema.Draft202012Validator(json_schema()).validate(tree)


def test_the_schema_is_a_schema_and_refuses_an_unknown_key():
    schema = json_schema()
    jsonschema.Draft202012Validator.check_schema(schema)
    tree = yaml.load(GOOD.replace("title", "titel"), Loader=yaml.BaseLoader)
    assert not jsonschema.Draft202012Validator(schema).is_valid(tree)


def test_check_prints_a_drill_and_names_where_each_time_comes_from():
    done = CliRunner().invoke(main, ["check", str(FOLDER / "hot-start.yaml")])
    assert 0 == done.exit_code
    assert "within 5 s (gauges/exhaust-temperature/limits/start/transient/for)" in done.output


def test_check_tells_of_a_time_that_is_the_drills_own(tmp_path):
    file = tmp_path / "try.yaml"
    file.write_text(GOOD.replace("reactions/answer", "7 s"), encoding="utf-8")
    done = CliRunner().invoke(main, ["check", str(file)])
    assert "the drill's own" in done.output


def test_check_tells_of_words_that_sound_alike(tmp_path):
    file = tmp_path / "try.yaml"
    line = "  - helper: read it\n    within: reactions/answer\n"
    file.write_text(GOOD + line.replace("read it", "reddy"), encoding="utf-8")
    done = CliRunner().invoke(main, ["check", str(file)])
    assert "sound nearly alike" in done.output


def test_checking_an_aircraft_checks_its_drills(tmp_path):
    own = tmp_path / "reedlark.yaml"
    own.write_text(REEDLARK.read_text(encoding="utf-8"), encoding="utf-8")
    folder = tmp_path / "drills" / "reedlark"
    folder.mkdir(parents=True)
    (folder / "bad.yaml").write_text(GOOD.replace("title", "titel"), encoding="utf-8")
    done = CliRunner().invoke(main, ["check", str(own)])
    assert 2 == done.exit_code
    assert 'bad.yaml:3:1: unknown key "titel" in this drill; did you mean "title"?' in done.output


def test_a_machine_that_is_based_on_another_has_its_drills():
    loaded = load_all(REEDLARK.parent / "reedlark-two.yaml")
    found = drills_of(loaded)
    assert set(drills()) == {one.drill.id for one in found}
    assert {loaded.aircraft.name} == {one.aircraft.aircraft.name for one in found}


def test_a_folder_that_is_not_there_is_told(tmp_path):
    with pytest.raises(FileProblems, match="no such folder of drills"):
        drills_of(load_all(REEDLARK), tmp_path / "none")


def test_schema_command_prints_the_drills_schema():
    done = CliRunner().invoke(main, ["schema", "--drill"])
    assert json_schema() == json.loads(done.output)


def test_no_drill_names_anything_real():
    for one in drills().values():
        head = Path(one.file).read_text(encoding="utf-8").splitlines()[0]
        assert "INVENTED" in head


def test_the_drill_in_the_readme_is_right_and_can_be_gone_through(tmp_path):
    text = (REEDLARK.parents[1] / "README.md").read_text(encoding="utf-8")
    (block,) = [one for one in text.split("```yaml\n") if one.startswith("drill: 1")]
    file = tmp_path / "readme.yaml"
    drill = block.split("```")[0].replace("../../reedlark.yaml", str(REEDLARK))
    file.write_text(drill, encoding="utf-8")
    loaded = load_drill(file)
    assert 100 == practise(loaded, (PILOT,)).result.percent
