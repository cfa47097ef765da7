"""What changed between two files is told in a pilot's words, and nothing is left out."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import fields, is_dataclass, replace
from decimal import Decimal
from enum import Enum
from pathlib import Path

import pytest
from click.testing import CliRunner

from callout.checklist.load import load
from callout.cli.main import main
from callout.writing.changes import changes

EXAMPLES = Path(__file__).parents[2] / "checklists"
OLD = """callout: 1
aircraft: {name: Testbird, revision: "1", written_by: me, limits_from: {handbook: h}}
gauges:
  oil: {call: oil pressure, unit: bar, range: 0 to 10, limits: {any: {never: {below: 1}}}}
lists:
  shutdown:
    items:
      - {call: fuel lever, answer: closed, killer: yes}
      - {call: boost pump, answer: stopped}
      - {call: cabin heat, answer: cold}
      - {call: oil pressure, read: oil, at_most: 2}
  secure:
    items: [{call: cabin door, answer: latched}]
"""


def _diff(tmp_path, *edits: tuple[str, str], options: tuple[str, ...] = ()):
    old, new = tmp_path / "old.yaml", tmp_path / "new.yaml"
    text = OLD
    for before, after in edits:
        assert before in text
        text = text.replace(before, after)
    old.write_text(OLD, encoding="utf-8")
    new.write_text(text, encoding="utf-8")
    return CliRunner().invoke(main, ["diff", str(old), str(new), *options])


SAID = {
    ("answer: closed", "answer: shut"): 'fuel lever: answer: was "closed", is "shut"',
    (", killer: yes", ""): 'fuel lever: killer item: gone, was "yes"',
    ("below: 1}", "below: 2}"): 'limits, always: never below: was "1 bar", is "2 bar"',
    ("at_most: 2", "at_most: 3"): 'oil pressure: accepted: was "at most 2 bar", is "at most 3 bar"',
    (
        "      - {call: boost pump, answer: stopped}\n",
        "",
    ): "gone: boost pump - stopped",
    (
        "      - {call: cabin heat",
        "      - {call: rotor brake, answer: applied, killer: yes}\n      - {call: cabin heat",
    ): "new: rotor brake - applied (killer item), after boost pump",
}


@pytest.mark.parametrize("edit", SAID, ids=lambda edit: edit[1][:20] or "gone")
def test_one_change_is_one_sentence(tmp_path, edit):
    shown = _diff(tmp_path, edit)

    assert 1 == shown.exit_code
    assert f"  {SAID[edit]}\n" in shown.stdout
    assert "1 change, revision 1 to 1" in shown.stdout
    assert "the revision did not" in shown.stderr


def test_what_stands_elsewhere_has_moved(tmp_path):
    lever = "      - {call: fuel lever, answer: closed, killer: yes}\n"
    pump = "      - {call: boost pump, answer: stopped}\n"
    shown = _diff(tmp_path, (lever + pump, pump + lever))

    assert "SHUTDOWN\n  moved: boost pump, now first\n1 change" in shown.stdout


def test_lists_come_and_go(tmp_path):
    assert (
        "SECURE\n  the list is gone"
        in _diff(
            tmp_path, ("  secure:\n    items: [{call: cabin door, answer: latched}]\n", "")
        ).stdout
    )
    assert (
        "LATER\n  a new list of 1 items"
        in _diff(
            tmp_path, ("  secure:", "  later:\n    items: [{call: key, answer: gone}]\n  secure:")
        ).stdout
    )


def test_nothing_changed_is_status_0(tmp_path):
    shown = _diff(tmp_path, ("callout: 1", "callout: 1  # a comment"))

    assert (0, "0 changes, revision 1 to 1.\n") == (shown.exit_code, shown.stdout)


def test_a_sister_machine_differs_in_what_it_says():
    """reedlark-two says that it differs in three items."""
    found = changes(load(EXAMPLES / "reedlark.yaml"), load(EXAMPLES / "reedlark-two.yaml"))

    assert {"walk round", "before start"} == {one.part for one in found} - {"aircraft"}
    assert 3 == len([one for one in found if one.part != "aircraft"])


def _other(value: object) -> object:
    """A value of the same kind that is not the same."""
    match value:
        case bool():
            return not value
        case Enum():
            return next(one for one in type(value) if one is not value)
        case str():
            return f"{value}x" if value else "something"
        case Decimal() | float() | int():
            return value + 1
    return value


def _altered(thing: object) -> Iterator[object]:
    """The value once with each single leaf of it changed."""
    if is_dataclass(thing):
        for field in fields(thing):
            if field.name == "unit_words":
                continue  # a unit brings its words with it
            for other in _altered(getattr(thing, field.name)):
                yield replace(thing, **{field.name: other})
    elif isinstance(thing, tuple):
        for at, one in enumerate(thing):
            for other in _altered(one):
                yield (*thing[:at], other, *thing[at + 1 :])
        if thing:
            yield thing[:-1]
    elif thing is not None:
        yield _other(thing)


def test_no_field_can_change_without_being_told():
    """Every value of two example files, each changed alone."""
    silent = []
    for name, step in (("test-stand", 1), ("reedlark", 23)):
        old = load(EXAMPLES / f"{name}.yaml")
        for at, new in enumerate(_altered(old)):
            if at % step == 0 and new != old and not changes(old, new):
                silent.append((name, at, new))

    assert [] == silent
