"""What callout is made of: pinned with hashes, with licences, and nothing that runs what it reads.

`make supply` writes anew what is held here.
"""

from __future__ import annotations

import ast
import re
import tomllib
from pathlib import Path

import pytest
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


def _pins() -> dict[str, dict[str, int]]:
    """Package -> version -> how many files of it are allowed."""
    found: dict[str, dict[str, int]] = {}
    hashes = {}
    for line in (TOP / ".ci" / "pinned.txt").read_text(encoding="utf-8").splitlines():
        if pinned := re.match(r"([a-z0-9-]+)==([^ ]+)", line):
            hashes = found.setdefault(pinned[1], {})
            version = pinned[2]
            hashes[version] = 0
        elif re.fullmatch(r"    --hash=sha256:[0-9a-f]{64}( \\)?", line):
            hashes[version] += 1
        else:
            raise AssertionError(f"neither a pin nor a hash: {line}")
    return found


@pytest.mark.parametrize("requirement", _requirements(), ids=lambda one: one.name)
def test_every_dependency_is_pinned_to_a_version_that_it_may_have(requirement):
    versions = _pins()[re.sub(r"[-_.]+", "-", requirement.name).lower()]

    assert all(requirement.specifier.contains(Version(one)) for one in versions)


def test_every_pin_has_a_hash():
    assert [] == [name for name, pins in _pins().items() if not all(pins.values())]


def test_every_pin_stands_in_the_list_of_wheels():
    """But for the parts of pyobjc, which are counted there."""
    page = (TOP / ".ci" / "wheels.md").read_text(encoding="utf-8")
    missing = [name for name in _pins() if f"| {name} |" not in page]

    assert [] == [name for name in missing if not name.startswith("pyobjc-framework")]


def test_every_dependency_has_a_line_about_its_licence():
    page = (TOP / ".ci" / "licences.md").read_text(encoding="utf-8")
    linux = {one.name.lower() for one in _requirements()} - {"evdev"}  # where evdev-binary is not

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
