"""Whole sentences: what a person reads when a file is wrong."""

from __future__ import annotations

import pytest
from checklist_files import GAUGES, HEAD, problems, problems_of, write

F = "aircraft.yaml"

FIRST = "lists:\n  first:\n    items: [{say: hello}]\n"
FILES = {
    "nothing": ("", [f'{F}:1:1: the file is empty; expected "callout: 1" as its first line']),
    "a comment": (
        "# nothing yet\n",
        [f'{F}:1:1: the file is empty; expected "callout: 1" as its first line'],
    ),
    "a sentence": (
        "fuel lever closed\n",
        [f'{F}:1:1: this is no aircraft file; expected "callout: 1" as the first line'],
    ),
    "no version": (
        "aircraft: {name: x}\n",
        [f'{F}:1:1: the first key is "aircraft"; expected "callout: 1" as the first line'],
    ),
    "the version later": (
        "aircraft: {name: x}\ncallout: 1\n",
        [f'{F}:2:1: the first key is "aircraft"; expected "callout: 1" as the first line'],
    ),
    "another version": (
        "callout: 2\n",
        [
            (
                f'{F}:1:10: the file is written in version "2" of the language; '
                "this program reads version 1"
            )
        ],
    ),
    "a repeated key": (
        HEAD + FIRST + "lists: {}\n",
        [f'{F}:10:1: the key "lists" stands here again; it is on line 7 already'],
    ),
    "tabs in a name": (  # a sentence has none, whatever stands in the file
        HEAD + "lists:\n  fi\t\tst:\n    needs: [first]\n    items: [{say: hello}]\n",
        [
            (
                f'{F}:8:3: found "fi st"; expected a name of small letters, digits and hyphens; '
                'did you mean "fi-st"?'
            ),
            f'{F}:9:13: there is no list "first"; did you mean "fi  st"?',
        ],
    ),
    "an anchor": (
        HEAD + "lists: &all {}\n",
        [f"{F}:7:8: an anchor (&all) stands here; expected none"],
    ),
    "an alias": (
        HEAD + "lists: *all\n",
        [f"{F}:7:8: an alias (*all) stands here; expected it in full"],
    ),
    "a tag": (
        HEAD + "lists: !!python/object:os.system {}\n",
        [f"{F}:7:8: a tag (tag:yaml.org,2002:python/object:os.system) stands here; expected none"],
    ),
    "two documents": (
        HEAD + FIRST + "---\nmore: 1\n",
        [f'{F}:10:1: a second document begins ("---"); expected one a file'],
    ),
    "a list as a key": (
        HEAD + "? [a, b]\n: c\n",
        [f"{F}:7:3: a list or mapping stands as a key; expected a word"],
    ),
    "a tab": (
        HEAD + "lists:\n\tfirst: x\n",
        [f"{F}:8:1: a tab indents this line; expected spaces"],
    ),
    "a colon in a text": (
        HEAD.replace("name: Test bench", "name: Bench: two"),
        [
            (
                f"{F}:3:14: a colon stands where none can; expected `key: value`, and quotes "
                "around text with a colon"
            )
        ],
    ),
    "a bare percent sign": (
        HEAD + FIRST + "gauges:\n  speed: {unit: %, range: 0 to 100}\n",
        [
            (
                f"{F}:11:17: a character that YAML keeps for itself begins a value; expected "
                "quotes around it"
            )
        ],
    ),
    "an open quote": (
        HEAD + 'lists: "first\n',
        [f"{F}:7:8: the quotes that open here are not closed; expected both on one line"],
    ),
    "an open bracket": (
        HEAD + "lists: {first: [\n",
        [f"{F}:8:1: nothing stands here; expected a word, a list or a mapping"],
    ),
    "an unknown unit": (
        HEAD + FIRST + "gauges:\n  speed: {unit: volt, range: 0 to 100}\n",
        [f'{F}:11:17: found "volt"; expected one of the words it knows'],
    ),
    "no lists": (HEAD, [f'{F}:1:1: this file has no "lists"; expected at least one list']),
    "an empty list": (
        HEAD + "lists: {first: {items: []}}\n",
        [f"{F}:7:24: found an empty list; expected a list, each entry with a dash"],
    ),
    "twins": (
        HEAD + "lists:\n  first:\n    items:\n      - say: hello\n      - say: hello\n",
        [
            (
                f'{F}:11:9: item "hello" stands in list "first" on line 10 already; '
                'expected another call, or an "id" of its own'
            )
        ],
    ),
    "a ring of needs": (
        HEAD
        + "lists:\n  one: {needs: [two], items: [{say: a}]}\n"
        + "  two: {needs: [one], items: [{say: b}]}\n",
        [f'{F}:8:3: a ring of lists: "one" needs "two" needs "one"; expected no ring'],
    ),
    "a list that goes to itself": (
        HEAD + "lists: {first: {items: [{call: again, go_to: first}]}}\n",
        [f'{F}:7:46: list "first" goes to itself; expected another list'],
    ),
    "a ring of lists with nothing to answer": (
        HEAD
        + "lists:\n  one: {items: [{call: x, go_to: two}]}\n"
        + "  two: {items: [{say: hello}, {call: y, go_to: one}]}\n",
        [
            (
                f'{F}:8:3: a ring of lists: "one" opens "two" opens "one" with nothing to answer '
                "on the way; expected no ring"
            )
        ],
    ),
    "no normal list as an abort": (
        HEAD + "lists:\n  one: {abort: two, items: [{say: a}]}\n" + "  two: {items: [{say: b}]}\n",
        [f'{F}:8:16: list "two" is of kind normal; expected one of kind abort'],
    ),
    "an unknown engine state": (
        HEAD + "engine_states: [start]\nlists: {one: {engine_state: strat, items: [{say: a}]}}\n",
        [f'{F}:8:29: there is no engine state "strat"; did you mean "start"?'],
    ),
    "a title of two lists": (
        HEAD + "lists:\n  one: {items: [{say: a}]}\n" + "  two: {also: [one], items: [{say: b}]}\n",
        [f'{F}:9:16: "one" is a title of list "one" already; expected another title'],
    ),
    "an order in a file based on none": (
        HEAD + "lists: {one: {items: [{say: a, remove: yes}]}}\n",
        [
            (
                f'{F}:7:32: found "remove"; "after", "before" and "remove" change a list of '
                "another file only"
            )
        ],
    ),
}


@pytest.mark.parametrize(("text", "expected"), FILES.values(), ids=FILES)
def test_sentences_about_files(tmp_path, text, expected):
    assert expected == problems(tmp_path, text)


def test_every_problem_is_told_at_once(tmp_path):
    text = (
        HEAD.replace("revision", "revison")
        + "lists:\n  first:\n    items:\n"
        + "      - {call: lever, anwser: closed}\n"
        + "      - {call: volts, read: vlots}\n"
        + "      - {call: cool, wait: 90}\n"
        + "    needs: [secnd]\n  second: {items: [{say: hello}]}\n"
        + GAUGES.replace("0 to 35", "35 to 0")
    )

    assert [
        f'{F}:3:3: aircraft has no "revision"; expected one',
        f'{F}:4:3: unknown key "revison" in aircraft; did you mean "revision"?',
        f'{F}:10:23: unknown key "anwser" in item "lever"; did you mean "answer"?',
        f'{F}:11:29: there is no gauge "vlots"; did you mean "volts"?',
        (
            f'{F}:12:28: found "90"; expected a time such as "90 s" or "1 min 30 s"; '
            'did you mean "90 s"?'
        ),
        f'{F}:13:13: there is no list "secnd"; did you mean "second"?',
        f'{F}:18:12: found "35 to 0"; expected the lower number first',
    ] == problems(tmp_path, text)


def test_a_part_that_is_wrong_still_counts_as_known(tmp_path):
    """One mistake in a gauge is one problem, not one more for each item that reads it."""
    text = HEAD + "lists: {first: {items: [{call: volts, read: volts}]}}\n"

    assert [f'{F}:12:15: found "x"; expected a whole number 0 to 4'] == problems(
        tmp_path, text + GAUGES.replace("decimals: 1", "decimals: x")
    )


def test_files_that_cannot_be_read(tmp_path):
    folder = tmp_path / "folder"
    folder.mkdir()
    right = "expected an aircraft file such as my-aircraft.yaml"

    assert [f"folder:1:1: this is not a plain file; {right}"] == problems_of(folder)
    assert [f"no.yaml:1:1: there is no such file; {right}"] == problems_of(tmp_path / "no.yaml")


def test_bytes_that_are_no_text(tmp_path):
    path = tmp_path / "aircraft.yaml"

    path.write_bytes(b"callout: 1\naircraft: {name: J\xfcrgen}\n")
    assert [
        f"{F}:2:19: this is not UTF-8 text; expected a YAML file saved as UTF-8"
    ] == problems_of(path)
    path.write_bytes(b"callout: 1\nname: a\x00b\n")
    assert [
        f"{F}:2:8: an unprintable character (U+0000) stands here; expected text"
    ] == problems_of(path)


def test_a_byte_order_mark_and_windows_line_ends_are_fine(tmp_path):
    path = write(tmp_path, "")
    path.write_bytes(b"\xef\xbb\xbf" + (HEAD + FIRST).replace("\n", "\r\n").encode())

    assert problems_of(path) == []
