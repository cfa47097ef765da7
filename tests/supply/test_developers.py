"""The contributor guide's map of the house is true: its rooms, its files, the walk of a word."""

from __future__ import annotations

import re
from pathlib import Path

ROOT = Path(__file__).parents[2]
GUIDE = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
ELSEWHERE = {"runners/harness.py", "install.py"}
"""A file of mutmut, and one that lies in the bundle alone."""

FILES = {
    file.relative_to(ROOT).as_posix()
    for folder in ("callout", "tests", "models", ".ci")
    for file in (ROOT / folder).rglob("*.py")
}


def section(title: str) -> str:
    found = re.search(rf"^## {title}\n(.*?)(?=^## |\Z)", GUIDE, re.DOTALL | re.MULTILINE)
    assert found is not None, title
    return found[1]


def test_every_room_is_on_the_map_and_every_one_on_it_is_there():
    told = set(re.findall(r"^\| `(\w+)/` \|", section("Rooms"), re.MULTILINE))

    assert {one.parent.name for one in (ROOT / "callout").glob("*/__init__.py")} == told


def test_every_file_that_lies_beside_the_rooms_is_told():
    lone = {one.name for one in (ROOT / "callout").glob("*.py")} - {"__init__.py", "__main__.py"}

    assert {one for one in lone if f"`{one}`" not in section("Rooms")} == set()


def test_every_file_of_python_that_is_named_is_there():
    named = set(re.findall(r"(?<![\w./*-])((?:[\w.-]+/)*[\w-]+\.py)(?![\w*])", GUIDE)) - ELSEWHERE

    assert len(named) > 50
    assert {
        one for one in named if not any(f"/{file}".endswith(f"/{one}") for file in FILES)
    } == set()


def test_what_the_walk_of_a_word_names_is_defined_in_the_house():
    walk = section("In one picture")
    told = re.findall(r"`([A-Za-z]\w*(?:\.\w+)?)`", walk)
    names = {name for one in told if not one.endswith(".py") for name in one.split(".")}
    source = "\n".join(
        (ROOT / file).read_text(encoding="utf-8") for file in FILES if file.startswith("callout/")
    )

    assert len(names) >= 15
    assert {name for name in names if not re.search(rf"(?:class|def) {name}\b", source)} == set()
