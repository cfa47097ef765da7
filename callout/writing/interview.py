"""A few questions about a machine, and the commented file that its owner begins with.

Rule of this file: questions, answers and text are values; who asks (the keyboard
or callout's own voice) is not known here. No number is invented: where one is
wanted the file says HANDBOOK.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from importlib.resources import files

from callout.checklist.fields import spoken


@dataclass(frozen=True, slots=True)
class Way:
    """One answer: its key, and the words that choose it."""

    key: str
    words: str


@dataclass(frozen=True, slots=True)
class Question:
    """What is asked, and the ways to answer."""

    key: str
    call: str
    ways: tuple[Way, ...]


QUESTIONS = (
    Question(
        "engine", "engine", (Way("turbine", "turbine engine"), Way("piston", "piston engine"))
    ),
    Question(
        "turns",
        "what it turns",
        (Way("rotor", "main rotor"), Way("propeller", "propeller"), Way("stand", "test stand")),
    ),
    Question("people", "people", (Way("alone", "one alone"), Way("two", "two people"))),
    Question(
        "power",
        "power for the start",
        (Way("own", "own battery"), Way("ground", "ground power")),
    ),
)


@dataclass(frozen=True, slots=True)
class Owner:
    """What only he can write: the words of the file's head."""

    name: str = "my machine"
    author: str = "me"
    handbook: str = "the handbook of my machine"
    issue: str = "1"


_LINE = re.compile(r"\?([a-z_]+)(.*)")


def file_text(ways: Mapping[str, str], owner: Owner, file: str) -> str:
    """The commented file for these answers (question -> way)."""
    flags = _flags(ways)
    made = []
    for line in template().splitlines():
        condition = _LINE.fullmatch(line)
        if condition is None:
            made.append(line)
        elif condition[1] in flags:
            made.append(condition[2])
    text = "\n".join(made) + "\n"
    for key, value in (("author", owner.author), ("handbook", owner.handbook)):
        text = text.replace(f"{{{key}}}", quoted_yaml(value))
    text = text.replace("name: {name}", f"name: {quoted_yaml(owner.name)}")
    issue = owner.issue.replace('"', "'").replace("\\", "/")
    return text.replace("{name}", owner.name).replace("{file}", file).replace("{issue}", issue)


def _flags(ways: Mapping[str, str]) -> set[str]:
    flags = set(ways.values())
    if flags & {"rotor", "propeller"}:
        flags.add("flies")
    if {"ground", "two"} <= flags:
        flags.add("ground_two")
    return flags


def quoted_yaml(text: str) -> str:
    """A text as YAML takes it: as it is where that is plain, else in quotes."""
    flat = " ".join(text.split())
    if re.fullmatch(r"[A-Za-z][A-Za-z0-9 .'()/-]*", flat):
        return flat
    escaped = flat.replace("\\", "\\\\").replace('"', '\\"')
    return f'"{escaped}"'


def template() -> str:
    """The lines of all machines; "?WORD" before a line that only some have."""
    return files(__package__).joinpath("template.txt").read_text(encoding="utf-8")


def as_list(questions: tuple[Question, ...] = QUESTIONS) -> str:
    """The interview itself as an aircraft file, so that callout can ask it aloud."""
    items = "\n".join(
        f"      - id: {one.key}\n        call: {spoken(one.call)}\n        choose:\n"
        + "\n".join(f"          {way.key}: {spoken(way.words)}" for way in one.ways)
        for one in questions
    )
    return f"""callout: 1
aircraft:
  name: new machine
  revision: "1"
  written_by: callout
  limits_from: {{handbook: none}}
lists:
  questions:
    title: a few questions about your machine
    items:
{items}
"""
