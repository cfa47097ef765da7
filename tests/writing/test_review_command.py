"""`callout review` as a user calls it."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner
from review_corpus import HEAD, SOUND

from callout.checklist.review import RULES, review
from callout.checklist.review_model import Grade, Sounds
from callout.cli.main import main

EXAMPLES = sorted((Path(__file__).parents[2] / "checklists").glob("*.yaml"))
TEXT = (
    HEAD.replace("{source}", SOUND)
    + """lists:
  cabin:
    items:
      - {call: fuel lever, answer: checked, killer: yes}
      - {call: check cabin door, answer: latched}
      - {call: doors and windows, answer: shut, reviewed: {compound: One handle moves both.}}
"""
)


def _run(tmp_path, *options: str):
    file = tmp_path / "mine.yaml"
    file.write_text(TEXT, encoding="utf-8")
    return CliRunner().invoke(main, ["review", str(file), *options])


def test_a_finding_has_place_grade_rule_reason_source_and_change(tmp_path):
    shown = _run(tmp_path)

    assert shown.exit_code == 1
    assert (
        f'{tmp_path}/mine.yaml:10:36: serious, says-nothing: "checked" does not tell what '
        '"fuel lever" shows' in shown.output
    )
    assert "    why:    An answer that would be the same" in shown.output
    assert "    source: Degani & Wiener" in shown.output
    assert "    better: the state that is to be seen" in shown.output
    assert "2 findings (1 serious, 1 advice); 1 kept by the owner" in shown.output


def test_only_what_is_grave_enough_is_told(tmp_path):
    shown = _run(tmp_path, "--grade", "serious")

    assert "verb-first" not in shown.output
    assert "1 finding (1 serious)." in shown.output


def test_what_the_owner_keeps_is_shown_with_his_reason(tmp_path):
    assert "kept:   One handle moves both." in _run(tmp_path, "--kept").output
    assert "One handle" not in _run(tmp_path).output


def test_as_json_every_finding_is_an_object(tmp_path):
    found = json.loads(_run(tmp_path, "--json").output)

    assert [("says-nothing", 10, "serious"), ("verb-first", 11, "advice")] == [
        (one["rule"], one["line"], one["grade"]) for one in found
    ]
    assert all(one["source"] and one["change"] and one["why"] for one in found)


def test_a_file_that_is_wrong_is_told_as_by_check(tmp_path):
    file = tmp_path / "mine.yaml"
    file.write_text(TEXT.replace("answer: latched", "anwser: latched"), encoding="utf-8")
    shown = CliRunner().invoke(main, ["review", str(file)])

    assert shown.exit_code == 2
    assert 'did you mean "answer"?' in shown.output


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_the_examples_are_reviewed_clean(path):
    shown = CliRunner().invoke(main, ["review", str(path)])

    assert (0, "0 findings") == (shown.exit_code, shown.output[:10])


def test_what_is_measured_outside_is_a_parameter(tmp_path):
    file = tmp_path / "mine.yaml"
    file.write_text(TEXT, encoding="utf-8")
    sounds = Sounds({("cabin", 0): (("checked", "wrecked", 1.5),)}, {"fuel lever": "it is long"})

    assert {"says-nothing", "verb-first", "sounds-alike", "hard-in-noise", "compound"} == {
        one.rule for one in review(file, sounds)
    }


def test_every_rule_has_a_reason_and_a_source():
    assert [] == [rule.id for rule in RULES if not (rule.why and rule.source)]
    assert len({rule.id for rule in RULES}) == len(RULES)
    assert {rule.grade for rule in RULES} == set(Grade)


ORDER_WRONG = {
    "order: [{first: {call: fuel lever}, then: {call: cabin dor}}]": 'did you mean "cabin door"?',
    "order: [{first: {call: fuel lever, answer: shut}, then: {call: cabin door}}]": (
        'there is no answer at "fuel lever" "shut"'
    ),
    "order: [{first: {call: fuel lever}, then: {call: cabin door}, lists: [cabn]}]": (
        'did you mean "cabin"?'
    ),
    "order: [{first: {call: fuel lever}}]": 'has no "then"',
}


@pytest.mark.parametrize("order", ORDER_WRONG)
def test_an_order_of_things_that_are_not_there_is_refused(tmp_path, order):
    lists = "lists: {cabin: {items: [{call: fuel lever, answer: closed}, "
    lists += "{call: cabin door, answer: latched}]}}\n"
    file = tmp_path / "mine.yaml"
    file.write_text(HEAD.replace("{source}", SOUND) + f"{order}\n{lists}", encoding="utf-8")
    shown = CliRunner().invoke(main, ["check", str(file)])

    assert shown.exit_code == 2
    assert ORDER_WRONG[order] in shown.output
