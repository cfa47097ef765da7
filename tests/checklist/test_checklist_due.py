"""Due items and former names: what the file says, and what is wrong in it."""

from __future__ import annotations

from datetime import date

import pytest
from checklist_files import HEAD, loaded, marked, problems, problems_of, write

from callout.checklist.duties import Due
from callout.checklist.export import json_schema
from callout.checklist.load import load

LISTS = """
counters:
  cycles: {counts: shut/lever, formerly: [starts]}
  hours: {seconds: {from: start/starter, to: shut/lever}}
lists:
  start: {items: [{call: starter, answer: on}]}
  shut: {items: [{call: lever, answer: closed}]}
  service: {items: [{call: oil, answer: changed}]}
  fire: {kind: emergency, items: [{call: starter, answer: turning}]}
"""


def test_every_key_of_a_due_item(tmp_path):
    text = """
due:
  oil-change:
    call: change of oil
    counter: hours
    every: 50 h
    warn: 5 hours
    date: 2027-03-31
    months: 12
    warn_days: 30
    said_at: [start, shut]
    closes: start
    done_by: service/oil
    formerly: [oil]
  check: {counter: cycles, every: 300, warn: 10, said_at: start}
  bottle: {date: 2028-02-29, days: 90, said_at: start}
"""
    oil = Due(
        "oil-change", "change of oil", ("start", "shut"), "hours", 180_000.0, 18_000.0,
        date(2027, 3, 31), 12, 0, 30, ("start",), ("service/oil",), ("oil",),
    )  # fmt: skip
    check = Due("check", "check", ("start",), "cycles", 300.0, 10.0)
    bottle = Due("bottle", "bottle", ("start",), on=date(2028, 2, 29), days=90)
    aircraft = loaded(tmp_path, HEAD + text + LISTS)

    assert (oil, check, bottle) == aircraft.dues
    assert ("starts",) == aircraft.counters[0].formerly


D = "due:\n  oil: "
WRONG = {
    "neither": ("due:\n  §oil: {said_at: start}", 'due "oil" has neither a counter nor a date'),
    "nowhere": (D + "§{date: 2027-01-01}", 'due "oil" has no "said_at"'),
    "no such list": (D + "{date: 2027-01-01, said_at: §stort}", 'no list "stort"; did you mean'),
    "no such day": (D + "{date: §2027-02-30, said_at: start}", "expected a date such as"),
    "another calendar": (D + "{date: §31.3.2027, said_at: start}", "expected a date such as"),
    "no such counter": (D + "{counter: §ours, every: 3, said_at: start}", 'no counter "ours"'),
    "counts for hours": (
        D + "{counter: hours, every: §50, said_at: start}",
        'counter "hours" does not go by "50"; expected hours, such as "50 h"',
    ),
    "hours for counts": (
        D + "{counter: cycles, every: §50 h, said_at: start}",
        'counter "cycles" does not go by "50 h"; expected a number, such as 300',
    ),
    "none at all": (D + "{counter: cycles, every: §0, said_at: start}", 'found "0"; expected'),
    "every of nothing": (
        D + "{date: 2027-01-01, §every: 3, said_at: start}",
        '"every" without "counter"',
    ),
    "of nothing": (D + "{§counter: cycles, said_at: start}", '"counter" without "every"'),
    "no first date": (
        D + "{counter: cycles, every: 3, §months: 3, said_at: start}",
        '"months" without "date"',
    ),
    "months and days": (
        D + "{date: 2027-01-01, months: 3, §days: 3, said_at: start}",
        '"days" beside "months"',
    ),
    "closes a procedure": (
        D + "{date: 2027-01-01, said_at: start, closes: §fire}",
        'list "fire" is of kind emergency, which is never kept closed',
    ),
    "done by nothing": (
        D + "{date: 2027-01-01, said_at: start, done_by: §service/oyl}",
        'no item in list "service" named "oyl"; did you mean "oil"',
    ),
    "former name in use": (
        D + "{date: 2027-01-01, said_at: start, formerly: [§oil]}",
        'due "oil" still stands in this file',
    ),
}


@pytest.mark.parametrize("name", WRONG)
def test_what_is_wrong_is_told_at_its_word(tmp_path, name: str):
    text, what = WRONG[name]
    text, line, column = marked(HEAD + text + LISTS)

    (found,) = problems(tmp_path, text)
    assert found.startswith(f"aircraft.yaml:{line}:{column}: ")
    assert what in found


def test_a_name_that_two_counters_had_is_refused(tmp_path):
    twice = LISTS.replace("hours: {", "hours: {formerly: [starts], ")

    (found,) = problems(tmp_path, HEAD + twice)
    assert '"starts" stands under "formerly" of another counter' in found


def test_a_file_over_another_changes_and_takes_out(tmp_path):
    due = (
        "due:\n  oil: {date: 2027-01-01, said_at: start}\n  tyre: {date: 2027-01-01, said_at: shut}"
    )
    write(tmp_path, HEAD + due + LISTS, "base.yaml")
    top = "callout: 1\nbased_on: base.yaml\ndue: {oil: {date: 2028-05-05}, tyre: {remove: yes}}\n"
    path = write(tmp_path, top, "top.yaml")

    assert [] == problems_of(path)
    (oil,) = load(path).dues
    assert ("oil", date(2028, 5, 5), ("start",)) == (oil.id, oil.on, oil.lists)


def test_take_out_without_a_base_is_refused(tmp_path):
    text = D + "{date: 2027-01-01, said_at: start, remove: yes}"

    (found,) = problems(tmp_path, HEAD + text + LISTS)
    assert "remove" in found


def test_editors_know_them():
    parts = json_schema()["$defs"]

    assert {"said_at", "every", "date", "closes"} <= parts["DueEntry"]["properties"].keys()
    assert "required" not in parts["DueEntryChanged"]
    assert "remove" not in parts["DueEntry"]["properties"]
