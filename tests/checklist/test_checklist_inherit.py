"""A file based on another says only its differences, and each is told in its own file."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest
from checklist_files import EXAMPLES, problems_of, write

from callout.checklist.load import fingerprint, load, load_all
from callout.checklist.model import Ask, Band, Item, ReadValue

BASE = """callout: 1
aircraft:
  name: Base
  revision: "1"
  written_by: nobody
  limits_from: {handbook: Base book, issue: 2}
engine_states: [start]
gauges:
  volts:
    unit: V
    range: 0 to 35
    decimals: 1
    limits: {start: {caution: {below: 15.0, above: 29.0}, never: {above: 30.0}}}
  speed: {unit: rpm, range: 0 to 3000}
counters:
  tries: {counts: first/lever, most: 3}
lists:
  first:
    sections:
      - name: left
        items:
          - {call: lever, answer: closed, wrong_answers: open, killer: yes, why: Because.}
          - {call: lamp, answer: dark}
      - name: right
        items:
          - {call: volts, read: volts, at_least: 24.0, at_most: 29.0}
  second: {items: [{say: hello}]}
  third: {items: [{say: goodbye}]}
"""
TOP = "callout: 1\nbased_on: base.yaml\n"


@pytest.fixture
def over(tmp_path):
    """Write the base and a file over it; give the path of the latter."""
    write(tmp_path, BASE, "base.yaml")
    return lambda text: write(tmp_path, TOP + text, "top.yaml")


def _ids(aircraft, list_id="first"):
    return [item.id for item in aircraft.list(list_id).items()]


def test_no_difference_is_the_same_aircraft(over, tmp_path):
    assert load(tmp_path / "base.yaml" if over("") else tmp_path) == load(over(""))


def test_a_header_is_changed_key_by_key_but_its_source_as_a_whole(over):
    aircraft = load(over("aircraft: {name: Top, limits_from: {handbook: Top book}}\n"))

    assert ("Top", "1", "Top book", "") == (
        aircraft.name,
        aircraft.revision,
        aircraft.limits_from.handbook,
        aircraft.limits_from.issue,
    )


def test_one_limit_is_changed_and_its_neighbours_stay(over):
    text = "gauges: {volts: {limits: {start: {caution: {below: 16.0}}}}}\n"

    (limit,) = load(over(text)).gauge("volts").limits

    assert (Band(Decimal("16.0"), Decimal("29.0")), Band(None, Decimal("30.0"))) == (
        limit.caution,
        limit.never,
    )


def test_what_is_removed_is_gone(over):
    aircraft = load(
        over(
            "gauges: {speed: {remove: yes}}\ncounters: {tries: {remove: yes}}\n"
            "lists: {second: {remove: yes}, first: {items: [{id: lamp, remove: yes}]}}\n"
        )
    )

    assert ["volts"] == [gauge.id for gauge in aircraft.gauges]
    assert aircraft.counters == ()
    assert ["first", "third"] == [one.id for one in aircraft.lists]
    assert ["lever", "volts"] == _ids(aircraft)


def test_a_changed_item_keeps_its_place_and_what_is_not_said_anew(over):
    aircraft = load(over("lists: {first: {items: [{call: lever, why: Another reason.}]}}\n"))

    assert (
        Item("lever", "lever", Ask(("closed",), ("open",)), why="Another reason.", killer=True)
        == aircraft.list("first").sections[0].items[0]
    )


def test_one_number_of_an_item_is_changed(over):
    item = list(
        load(over("lists: {first: {items: [{id: volts, at_least: 25.0}]}}\n")).list("first").items()
    )[2]

    assert ReadValue("volts", Band(Decimal("25.0"), Decimal("29.0"))) == item.task


def test_another_task_is_written_as_a_whole(over):
    """The bounds of one gauge must not be left behind for another."""
    item = list(
        load(over("lists: {first: {items: [{id: volts, read: speed}]}}\n")).list("first").items()
    )[2]

    assert ReadValue("speed", Band()) == item.task


@pytest.mark.parametrize(
    ("item", "ids"),
    [
        ("{call: cap, answer: locked, after: lever}", ["lever", "cap", "lamp", "volts"]),
        ("{call: cap, answer: locked, before: lever}", ["cap", "lever", "lamp", "volts"]),
        ("{call: cap, answer: locked, after: volts}", ["lever", "lamp", "volts", "cap"]),
        ("{id: lever, after: lamp}", ["lamp", "lever", "volts"]),
        ("{id: volts, before: lever}", ["volts", "lever", "lamp"]),
    ],
)
def test_new_and_moved_items_stand_where_they_say(over, item, ids):
    assert ids == _ids(load(over(f"lists: {{first: {{items: [{item}]}}}}\n")))


def test_a_section_that_lost_its_last_item_is_gone(over):
    aircraft = load(over("lists: {first: {items: [{id: volts, remove: yes}]}}\n"))

    assert ["left"] == [section.name for section in aircraft.list("first").sections]


@pytest.mark.parametrize(
    ("after", "order"),
    [
        ("", ["first", "second", "third", "new"]),
        ("after: first, ", ["first", "new", "second", "third"]),
    ],
)
def test_a_new_list_stands_where_it_says_or_last(over, after, order):
    aircraft = load(over(f"lists: {{new: {{{after}items: [{{say: new}}]}}}}\n"))

    assert order == [one.id for one in aircraft.lists]


def test_a_list_of_the_base_can_be_moved(over):
    aircraft = load(over("lists: {first: {after: second}}\n"))

    assert [one.id for one in aircraft.lists] == ["second", "first", "third"]


def test_files_may_stand_behind_one_another(tmp_path):
    write(tmp_path, BASE, "base.yaml")
    write(tmp_path, TOP + "lists: {second: {title: the second}}\n", "middle.yaml")
    top = "callout: 1\nbased_on: middle.yaml\nlists: {second: {also: [number two]}}\n"

    second = load(write(tmp_path, top, "top.yaml")).list("second")

    assert ("the second", ("number two",)) == (second.title, second.also)


F = "top.yaml"
WRONG = {
    "lists: {first: {items: [{id: levr, answer: open}]}}": [
        f'{F}:3:25: there is no item "levr" in list "first" to change; did you mean "lever"?'
    ],
    "lists: {first: {items: [{call: cap, answer: locked}]}}": [
        (f'{F}:3:25: there is no item "cap" in list "first" to change; '
        'expected "after" or "before" in a new item')
    ],
    "lists: {first: {items: [{call: cap, answer: locked, after: lampp}]}}": [
        f'{F}:3:60: there is no item "lampp" in list "first" to stand after; did you mean "lamp"?'
    ],
    "lists: {first: {items: [{id: lamp, anwser: dim}]}}": [
        f'{F}:3:36: unknown key "anwser" in item "lamp"; did you mean "answer"?'
    ],
    "lists: {secnd: {title: x}}": [
        f'{F}:3:9: there is no list "secnd" to change; did you mean "second"?',
        f'{F}:3:16: list "secnd" has no items; expected at least one',
    ],
    "gauges: {vlots: {remove: yes}}": [
        (f'{F}:3:10: there is no "vlots" to remove in the file this is based on; '
        'did you mean "volts"?')
    ],
    "lists: {first: {items: [{id: lamp, remove: maybe}]}}": [
        f'{F}:3:44: found "maybe"; expected yes or no'
    ],
    "lists: {first: {after: first}}": [f'{F}:3:24: there is no list "first" to stand after'],
    "gauges: {volts: {remove: yes}}": [
        'base.yaml:26:33: there is no gauge "volts"; expected speed'
    ],
    "lists: {new: {after: secnd, items: [{say: x}]}}": [
        f'{F}:3:22: there is no list "secnd" to stand after; did you mean "second"?'
    ],
    "lists: {new: {items: [{say: x, after: y}]}}": [
        (f'{F}:3:32: found "after"; "after", "before" and "remove" change a list of another '
        "file only")
    ],
    "lists: {first: {items: [{id: volts, at_least: 36.0}]}}": [
        f"{F}:3:47: 36.0 V is nothing that volts can show; expected 0 to 35",
        f"{F}:3:47: at least 36.0 and at most 29.0 leave nothing; expected the lower number first",
    ],
}  # fmt: skip


@pytest.mark.parametrize(("text", "expected"), WRONG.items())
def test_a_wrong_difference_is_told_where_it_stands(over, text, expected):
    assert expected == problems_of(over(text + "\n"))


def test_a_problem_of_the_base_is_told_in_the_base(tmp_path):
    write(tmp_path, BASE.replace("range: 0 to 35", "range: 35"), "base.yaml")

    assert ['base.yaml:11:12: found "35"; expected a range such as "0 to 35"'] == problems_of(
        write(tmp_path, TOP, "top.yaml")
    )


def test_a_base_that_is_not_there_or_has_no_name(tmp_path):
    path = write(tmp_path, "callout: 1\nbased_on: no.yaml\n", "top.yaml")
    unnamed = write(tmp_path, "callout: 1\nbased_on:\n", "unnamed.yaml")

    assert [
        "unnamed.yaml:2:10: found no file name; expected one such as other-aircraft.yaml"
    ] == problems_of(unnamed)
    assert [
        (
            "top.yaml:2:11: the file this is based on, no.yaml: there is no such file; "
            "expected an aircraft file such as my-aircraft.yaml"
        )
    ] == problems_of(path)


def test_a_ring_of_files_is_refused(tmp_path):
    write(tmp_path, "callout: 1\nbased_on: ./top.yaml\n", "base.yaml")
    path = write(tmp_path, TOP, "top.yaml")

    assert [
        (
            'base.yaml:2:11: this file is based on "./top.yaml", which is based on this one; '
            "expected no ring of files"
        )
    ] == problems_of(path)


def test_a_chain_of_files_is_bounded(tmp_path):
    for at in range(20):
        write(tmp_path, f"callout: 1\nbased_on: f{at + 1}.yaml\n", f"f{at}.yaml")

    assert ["f7.yaml:2:11: more than 8 files behind one another"] == problems_of(
        tmp_path / "f0.yaml"
    )


def test_the_fingerprint_covers_every_file_used(over, tmp_path):
    path = over("")
    before = fingerprint(path)

    assert before == fingerprint(path) == load_all(path).fingerprint
    assert 64 == len(before)
    write(tmp_path, BASE + "# a remark\n", "base.yaml")
    changed = fingerprint(path)
    assert before != changed
    over("# a remark\n")
    assert fingerprint(path) not in (before, changed)
    assert (path, tmp_path / "base.yaml") == load_all(path).files


def test_the_second_reedlark_says_only_three_items():
    """A list for one machine that differs from another in three items says only those three."""
    first, second = (load(EXAMPLES / f"{name}.yaml") for name in ("reedlark", "reedlark-two"))
    differing = []
    for one, other in zip(first.lists, second.lists, strict=True):
        mine = {item.id: item for item in one.items()}
        theirs = {item.id: item for item in other.items()}
        changed = {
            name for name in mine.keys() | theirs.keys() if mine.get(name) != theirs.get(name)
        }
        differing += [f"{one.id}/{name}" for name in sorted(changed)]

    assert [
        "walk-round/ground-wheels",
        "before-start/battery-voltage",
        "before-start/rotor-brake",
    ] == differing
    assert replace(first, name="", revision="", lists=()) == replace(
        second, name="", revision="", lists=()
    )
