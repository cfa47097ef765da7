"""The JSON Schema for editors: a valid schema that agrees with the loader."""

from __future__ import annotations

import json

import pytest
from checklist_files import EXAMPLES, GAUGES, HEAD, problems, write
from click.testing import CliRunner
from jsonschema import Draft202012Validator

from callout.checklist.export import json_schema
from callout.checklist.positions import parse, plain
from callout.cli.main import main

SCHEMA = json_schema()
VALIDATOR = Draft202012Validator(SCHEMA)
FIRST = "lists:\n  first:\n    items: [{say: hello}]\n"


def _errors(text: str) -> list[str]:
    tree = parse(text.encode(), "aircraft.yaml")
    return [error.json_path for error in VALIDATOR.iter_errors(plain(tree))]


def test_it_is_a_valid_schema_of_its_draft():
    """Checked by the reference meta-schema of JSON Schema 2020-12."""
    Draft202012Validator.check_schema(SCHEMA)


def test_the_command_prints_it():
    result = CliRunner().invoke(main, ["schema"])

    assert result.exit_code == 0
    assert json.loads(result.stdout) == SCHEMA


@pytest.mark.parametrize("path", sorted(EXAMPLES.glob("*.yaml")), ids=lambda path: path.stem)
def test_the_examples_are_valid(path):
    assert _errors(path.read_text(encoding="utf-8")) == []


WRONG = {
    "an unknown key": HEAD + FIRST + "gauge: {}\n",
    "no aircraft": "callout: 1\n" + FIRST,
    "no lists": HEAD,
    "another version": HEAD.replace("callout: 1", "callout: 2") + FIRST,
    "a gauge without a unit": HEAD + FIRST + GAUGES.replace("    unit: V\n", ""),
    "an unknown unit": HEAD + FIRST + GAUGES.replace("unit: V", "unit: volt"),
    "a range in other words": HEAD + FIRST + GAUGES.replace("0 to 35", "0-35"),
    "an item with nothing to do": HEAD + "lists: {first: {items: [{call: lever}]}}",
    "an item with two things to do": (
        HEAD + "lists: {first: {items: [{call: lever, answer: closed, wait: 2 min}]}}"
    ),
    "a time without a unit": HEAD + "lists: {first: {items: [{call: cool, wait: 90}]}}",
    "neither yes nor no": (
        HEAD + "lists: {first: {items: [{call: lever, answer: closed, killer: maybe}]}}"
    ),
    "an id that is no name": HEAD + "lists: {first: {items: [{id: A b, say: hello}]}}",
    "a list without items": HEAD + "lists: {first: {title: one}}",
    "an order in a file based on none": HEAD + "lists: {first: {items: [{say: a, remove: yes}]}}",
}


@pytest.mark.parametrize("text", WRONG.values(), ids=WRONG)
def test_what_the_schema_refuses_the_loader_refuses(tmp_path, text):
    """An editor must never mark what the program takes, so both are asked."""
    assert _errors(text) != []
    assert problems(tmp_path, text) != []


def test_a_file_based_on_another_may_say_only_its_differences(tmp_path):
    write(tmp_path, HEAD + FIRST + GAUGES, "base.yaml")
    text = (
        "callout: 1\nbased_on: base.yaml\n"
        "gauges: {volts: {decimals: 2}}\naircraft: {name: Other}\n"
        "lists: {first: {items: [{id: hello, remove: yes}, {say: bye, after: hello}]}}\n"
    )

    assert _errors(text) == []
    assert _errors(text.replace("decimals", "decimal")) != []


def test_every_key_is_described_with_a_type():
    """Editors show the description while the owner types."""
    bare = [
        f"{name}.{key}"
        for name, part in {**SCHEMA["$defs"], "file": SCHEMA["else"]}.items()
        for key, value in part["properties"].items()
        if not value.get("description") or not value.keys() & {"type", "enum", "anyOf", "$ref"}
    ]

    assert bare == []


@pytest.mark.parametrize("name", sorted(SCHEMA["$defs"]))
def test_every_example_of_the_schema_is_valid_in_its_place(name):
    for key, value in SCHEMA["$defs"][name]["properties"].items():
        check = VALIDATOR.evolve(schema={**value, "$defs": SCHEMA["$defs"]})
        for example in value.get("examples", []):
            assert [error.message for error in check.iter_errors(example)] == [], key
