"""What callout is made of: pinned with hashes, with licences, and nothing that runs what it reads.

`make supply` writes anew what is held here.
"""

from __future__ import annotations

import ast
import re
import tomllib
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import pytest
from packaging.markers import Marker
from packaging.requirements import Requirement
from packaging.version import Version

TOP = Path(__file__).parents[2]
CODE = sorted(
    path
    for folder in ("callout", "models", ".ci", "checklists")
    for path in (TOP / folder).rglob("*.py")
)
RUNS = {"eval", "exec", "compile", "__import__"}
"""Built-ins that run what they are given (docs.python.org, library/functions)."""
UNPACKS = {"pickle", "cPickle", "dill", "marshal", "shelve", "joblib"}
"""Modules whose data can name code to run (docs.python.org: pickle, marshal, shelve)."""


def _project() -> dict:
    return tomllib.loads((TOP / "pyproject.toml").read_text(encoding="utf-8"))["project"]


def _requirements() -> list[Requirement]:
    project = _project()
    extras = (one for extra in project["optional-dependencies"].values() for one in extra)
    return [Requirement(one) for one in (*project["dependencies"], *extras)]


@dataclass
class Pin:
    """One version of a package: where it is for, and how many files of it are allowed."""

    name: str
    version: str
    marker: Marker | None
    hashes: int = 0


@cache
def _pins() -> list[Pin]:
    found: list[Pin] = []
    for line in (TOP / ".ci" / "pinned.txt").read_text(encoding="utf-8").splitlines():
        if pinned := re.fullmatch(r"([a-z0-9-]+)==([^ ]+)(?: ; (.+?))? \\", line):
            marker = Marker(pinned[3]) if pinned[3] else None
            found.append(Pin(pinned[1], pinned[2], marker))
        elif re.fullmatch(r"    --hash=sha256:[0-9a-f]{64}( \\)?", line):
            found[-1].hashes += 1
        else:
            raise AssertionError(f"neither a pin nor a hash: {line}")
    return found


def _holds(marker: Marker | None, python: str) -> bool:
    """On this system, with this Python."""
    there = {"python_version": python, "python_full_version": f"{python}.1", "extra": ""}
    return marker is None or marker.evaluate(there)


@pytest.mark.parametrize("python", ["3.11", "3.12", "3.13"])
@pytest.mark.parametrize("requirement", _requirements(), ids=lambda one: one.name)
def test_every_dependency_is_pinned_to_a_version_that_it_may_have(requirement, python):
    if not _holds(requirement.marker, python):
        return
    name = re.sub(r"[-_.]+", "-", requirement.name).lower()
    (pin,) = (one for one in _pins() if one.name == name and _holds(one.marker, python))

    assert requirement.specifier.contains(Version(pin.version))


def test_every_pin_has_a_hash():
    assert [] == [pin.name for pin in _pins() if not pin.hashes]


def test_every_pin_stands_in_the_list_of_wheels():
    """But for the parts of pyobjc, which are counted there, and what only a browser takes."""
    page = (TOP / ".ci" / "wheels.md").read_text(encoding="utf-8")
    missing = [
        pin.name
        for pin in _pins()
        if f"| {pin.name} |" not in page
        and "== 'emscripten'" not in f"{pin.marker}".replace('"', "'")
    ]

    assert [] == [name for name in missing if not name.startswith("pyobjc-framework")]


def test_every_dependency_has_a_line_about_its_licence():
    page = (TOP / ".ci" / "licences.md").read_text(encoding="utf-8")
    # evdev is for where evdev-binary is not; faster-whisper is too large to be installed for
    # the tests, and DEVELOPERS.md tells its licences.
    linux = {one.name.lower() for one in _requirements()} - {"evdev", "faster-whisper"}

    assert [] == [name for name in sorted(linux) if f"| {name} |" not in page]


def _risky(node: ast.AST) -> str:
    """What a piece of code runs or unpacks that may have come from outside; "" for nothing."""
    if isinstance(node, ast.Call):
        called = node.func
        if isinstance(called, ast.Name) and called.id in RUNS:
            return called.id
        if isinstance(called, ast.Attribute) and called.attr == "extractall":
            return "extractall"
        for given in node.keywords:
            if given.arg in ("allow_pickle", "shell") and not _is_false(given.value):
                return given.arg
    if isinstance(node, ast.Import):
        names = {one.name.partition(".")[0] for one in node.names}
        return ", ".join(names & UNPACKS)
    if isinstance(node, ast.ImportFrom):
        return ", ".join({(node.module or "").partition(".")[0]} & UNPACKS)
    return ""


def _is_false(value: ast.expr) -> bool:
    return isinstance(value, ast.Constant) and value.value is False


def test_nothing_runs_or_unpickles_what_it_reads():
    """By the code itself: a linter's rule can be switched off in a line."""
    found = [
        f"{path.relative_to(TOP)}:{node.lineno}: {risk}"
        for path in CODE
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if (risk := _risky(node))
    ]

    assert [] == found


@pytest.mark.parametrize(
    "code",
    ["eval(x)", "exec(x)", "import pickle", "from marshal import loads", "f(x, shell=True)",
     "numpy.load(x, allow_pickle=True)", "archive.extractall()"],
)  # fmt: skip
def test_what_must_not_stand_there_would_be_found(code):
    assert any(_risky(node) for node in ast.walk(ast.parse(code)))
