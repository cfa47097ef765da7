"""Whatever the bytes are: an aircraft, or FileProblems, and nothing else."""

from __future__ import annotations

import re

import yaml
from checklist_files import EXAMPLES, MARK
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st
from jsonschema import Draft202012Validator

from callout.checklist.export import json_schema
from callout.checklist.load import load
from callout.checklist.model import Aircraft
from callout.checklist.positions import Loader, Node, parse, plain
from callout.checklist.problems import FileProblems

WHOLE = (EXAMPLES / "reedlark.yaml").read_text(encoding="utf-8")
WORDS = sorted(set(re.findall(r"[a-z_-]+|[0-9.]+|[{}\[\],:]", WHOLE)))
EDITORS = Draft202012Validator(json_schema())
ONE_PATH = [HealthCheck.function_scoped_fixture]
"""The same file is written anew for each example, which is what is wanted."""

texts = st.text(max_size=200) | st.lists(
    st.sampled_from([*WORDS, "\n", "\n  ", "\n- ", ": ", " ", '"', "'", "#", "&a", "*a", "!", "%"]),
    max_size=60,
).map("".join)


def _outcome(path, data: bytes) -> Aircraft | tuple[str, ...]:
    path.write_bytes(data)
    try:
        return load(path)
    except FileProblems as error:
        return tuple(str(problem) for problem in error.problems)


def _is_fair(outcome: Aircraft | tuple[str, ...], path) -> bool:
    """An aircraft that editors would take too, or problems with a place, a line each."""
    if isinstance(outcome, Aircraft):
        return EDITORS.is_valid(plain(parse(path.read_bytes(), "f")))
    place = re.compile(re.escape(str(path)) + r":[1-9][0-9]*:[1-9][0-9]*: \S")
    return bool(outcome) and all(place.match(line) and "\n" not in line for line in outcome)


@settings(max_examples=150, suppress_health_check=ONE_PATH, deadline=None)
@given(data=st.binary(max_size=300))
def test_random_bytes(tmp_path, data):
    path = tmp_path / "aircraft.yaml"

    assert _is_fair(_outcome(path, data), path)


@settings(max_examples=300, suppress_health_check=ONE_PATH, deadline=None)
@given(text=texts)
def test_random_text_after_the_version(tmp_path, text):
    path = tmp_path / "aircraft.yaml"

    assert _is_fair(_outcome(path, f"callout: 1\n{text}".encode()), path)


@settings(max_examples=60, suppress_health_check=ONE_PATH, deadline=None)
@given(data=st.data())
def test_the_example_with_a_random_piece_replaced(tmp_path, data):
    path = tmp_path / "aircraft.yaml"
    start = data.draw(st.integers(0, len(WHOLE)))
    length = data.draw(st.integers(0, 30))
    piece = data.draw(texts | st.sampled_from(WORDS))
    text = WHOLE[:start] + piece + WHOLE[start + length :]

    assert _is_fair(_outcome(path, text.encode()), path)


@settings(max_examples=200, deadline=None)
@given(text=texts)
@example(text="?")
@example(text="? ")
def test_both_yaml_parsers_give_the_same_tree_or_both_refuse(text):
    """Where libyaml's wheel part is missing, the parser in Python must not read otherwise.

    Tabs and line separators are left out: the two parsers differ in which of them end a
    line, and none of the language's words has one. Where nothing was written, they differ
    in where that nothing stands ("?" at the end of a file), so its place is not compared.
    """
    data = re.sub("[\t\x85\u2028\u2029\ufeff\xa0]", " ", f"callout: 1\n{text}").encode()

    assert _tree(data, yaml.SafeLoader) == _tree(data, Loader)


def _tree(data: bytes, loader: type) -> object:
    try:
        return _bare(parse(data, "f", loader))
    except FileProblems:
        return MARK


def _bare(node: Node) -> object:
    place = (node.place.line, node.place.column)
    if isinstance(node.value, dict):
        return place, {key: _bare(child) for key, child in node.value.items()}
    if isinstance(node.value, list):
        return place, [_bare(child) for child in node.value]
    return (place, node.value) if node.value else node.value
