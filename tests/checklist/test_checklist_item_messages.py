"""Whole sentences: what a person reads when an item is wrong."""

from __future__ import annotations

import pytest
from checklist_files import item_problems

F = "aircraft.yaml"

ITEMS = {
    "an unknown key": (
        "call: lever\nanwser: closed",
        [f'{F}:11:7: unknown key "anwser" in item "lever"; did you mean "answer"?'],
    ),
    "nothing to do": (
        "call: lever",
        [
            (
                f'{F}:10:7: item "lever" does not say what to do; expected one of '
                "answer, answers, read, wait, await, say, choose or go_to"
            )
        ],
    ),
    "nothing at all": (
        "{}",  # the fuzzer found it: the item was left out without a word
        [
            (
                f"{F}:10:7: this item does not say what to do; expected one of "
                "answer, answers, read, wait, await, say, choose or go_to"
            )
        ],
    ),
    "two things to do": (
        "call: lever\nanswer: closed\nwait: 2 min",
        [f'{F}:12:7: item "lever" has "answer" and "wait"; expected one of them'],
    ),
    "a companion of another kind": (
        "call: lever\nanswer: closed\nat_least: 3",
        [f'{F}:12:7: "at_least" belongs to `read`; item "lever" is of kind `answer`'],
    ),
    "no call": (
        "id: lever\nanswer: closed",
        [f'{F}:10:7: item "lever" has no "call"; expected the words to read aloud'],
    ),
    "a killer without an answer": (
        "say: go on\nkiller: yes",
        [f'{F}:11:7: an item of kind `say` takes no "killer"; expected item "go-on" without it'],
    ),
    "an unknown gauge": (
        "call: volts\nread: vlots",
        [f'{F}:11:13: there is no gauge "vlots"; did you mean "volts"?'],
    ),
    "a number with a comma": (
        "call: volts\nread: volts\nat_least: 24,5",
        [f'{F}:12:17: found "24,5"; expected a point in a number; did you mean 24.5?'],
    ),
    "a number in words": (
        "call: volts\nread: volts\nat_least: plenty",
        [f'{F}:12:17: found "plenty"; expected a number such as 24.5'],
    ),
    "a value the gauge cannot show": (
        "call: volts\nread: volts\nat_least: 245",
        [f"{F}:12:17: 245 V is nothing that volts can show; expected 0 to 35"],
    ),
    "a value finer than the gauge": (
        "call: volts\nread: volts\nat_least: 24.55",
        [
            (
                f"{F}:12:17: 24.55 is finer than that: volts is read with 1 digits after the point "
                '(its "decimals")'
            )
        ],
    ),
    "a clock time": (
        "call: cool\nwait: 1:30",
        [
            (
                f'{F}:11:13: found "1:30"; expected a time such as "90 s" or "1 min 30 s"; '
                'did you mean "1 min 30 s"?'
            )
        ],
    ),
    "a time without a unit": (
        "call: cool\nwait: 90",
        [
            (
                f'{F}:11:13: found "90"; expected a time such as "90 s" or "1 min 30 s"; '
                'did you mean "90 s"?'
            )
        ],
    ),
    "a mark longer than the wait": (
        "call: cool\nwait: 1 min\nmarks: [10 s, 90 s]",
        [f'{F}:12:21: the mark "90 s" is not shorter than the wait; expected less than "1 min"'],
    ),
    "true for yes": (
        "call: lever\nanswer: closed\nkiller: true",
        [f'{F}:12:15: found "true"; expected yes or no; did you mean "yes"?'],
    ),
    "a wrong answer that is right": (
        "call: lever\nanswer: closed\nwrong_answers: [open, closed]",
        [f'{F}:12:29: "closed" is a wrong answer and a right answer; expected it in one place'],
    ),
    "a command as an answer": (
        "call: lever\nanswer: hold",
        [f'{F}:11:15: "hold" means "hold" at any time; expected other words'],
    ),
    "digits in an answer": (
        "call: lever\nanswer: notch 2",
        [
            (
                f'{F}:11:15: found "notch 2"; expected numbers spelled as they are spoken, '
                'such as "two five"'
            )
        ],
    ),
    "a list where a word belongs": (
        "call: [lever, valve]\nanswer: closed",
        [f"{F}:10:13: found a list; expected words"],
    ),
    "a list where a mapping belongs": (
        "call: volts\nawait: [volts]",
        [f"{F}:11:14: found a list; expected `key: value` lines"],
    ),
    "an empty value": (
        "call: lever\nanswer:",
        [f"{F}:11:14: nothing is written here; expected words"],
    ),
    "one way to choose": (
        "call: power\nchoose: {own: own battery}",
        [f"{F}:11:15: a choice of one way is no choice; expected two or more"],
    ),
    "missed without a time": (
        "call: charge\nawait: {gauge: volts, at_least: 27, missed: frst}",
        [
            f'{F}:11:51: "missed" has no time; expected "within" beside it',
            f'{F}:11:51: there is no list "frst"; did you mean "first"?',
        ],
    ),
    "an id that is no name": (
        "id: Fuel lever\ncall: lever\nanswer: closed",
        [
            (
                f'{F}:10:11: found "Fuel lever"; expected a name of small letters, digits and '
                'hyphens; did you mean "fuel-lever"?'
            )
        ],
    ),
}


@pytest.mark.parametrize(("item", "expected"), ITEMS.values(), ids=ITEMS)
def test_sentences_about_items(tmp_path, item, expected):
    assert expected == item_problems(tmp_path, item)
