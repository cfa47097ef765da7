"""A review finds what is planted, at its place, and nothing in lists that are good.

The rules come from published guidance (named with each rule in review.py); which
lists are good is our own judgement, written before the figures were looked at.
"""

from __future__ import annotations

import pytest
from review_corpus import Case, cases

from callout.checklist.review import RULES
from callout.running.reviewing import review_file

FAULTS = cases("faults")
GOOD = cases("good")


def _found(case: Case, tmp_path) -> list[tuple[str, int]]:
    file = tmp_path / "aircraft.yaml"
    file.write_text(case.text, encoding="utf-8")
    return sorted((one.rule, one.place.line) for one in review_file(file) if not one.kept)


@pytest.mark.parametrize("case", FAULTS, ids=lambda case: case.name)
def test_what_is_planted_is_found_at_its_place_and_nothing_else(case, tmp_path):
    assert list(case.planted) == _found(case, tmp_path)


@pytest.mark.parametrize("case", GOOD, ids=lambda case: case.name)
def test_a_good_list_is_left_alone(case, tmp_path):
    assert [] == _found(case, tmp_path)


def test_the_corpus_is_as_large_as_it_must_be():
    assert len(FAULTS) >= 60
    assert len(GOOD) >= 20


def test_every_rule_has_a_fault_that_only_it_explains():
    planted = {rule for case in FAULTS for rule, _ in case.planted}

    assert {rule.id for rule in RULES} | {"kept-in-vain"} == planted
