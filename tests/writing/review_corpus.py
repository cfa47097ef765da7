"""Small lists in readable text files, and what a review must find in each.

A file of the corpus holds lists behind a line "=== what it shows"; "# <- RULE" at
the end of a line says that this rule finds something there, "@LIST" behind it that
it finds it at the key of that list. The head of an aircraft file is put before
each; a line "source:" takes the place of where its limits come from.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path

HERE = Path(__file__).parent
SOUND = '{handbook: "Manual of the test machine", issue: "3", date: "2024-02-01"}'
HEAD = """callout: 1
aircraft:
  name: Test machine
  revision: "1"
  written_by: nobody, invented
  limits_from: {source}
"""
_EXPECTED = re.compile(r"# <- ([a-z-]+)(?: @([a-z-]+))?")


@dataclass(frozen=True)
class Case:
    """One list: its name, the file to write, and (rule, line) of what is planted."""

    name: str
    text: str
    planted: tuple[tuple[str, int], ...]

    @property
    def items(self) -> int:
        return len(
            re.findall(r"^\s*(?:- |items: \[)\{?(?:id|call|say):|items: \[\{", self.text, re.M)
        )


def cases(folder: str) -> list[Case]:
    """Every list of the text files of a folder."""
    return [
        case
        for path in sorted((HERE / folder).glob("*.txt"))
        for case in _cases(path.read_text(encoding="utf-8"), path.stem)
    ]


def _cases(text: str, stem: str) -> list[Case]:
    parts = re.split(r"^=== (.*)\n", text, flags=re.M)[1:]
    return [
        _case(f"{stem}: {name}", body) for name, body in zip(parts[::2], parts[1::2], strict=True)
    ]


def _case(name: str, body: str) -> Case:
    source, marks = SOUND, ""
    first, _, rest = body.partition("\n")
    if first.startswith("source: "):
        source, _, marks = first.removeprefix("source: ").partition("  #")
        body, marks = rest, f"  #{marks}" if marks else ""
    text = HEAD.replace("{source}", source + marks) + body
    lines = text.splitlines()
    planted = [
        (rule, _line(lines, at, where))
        for at, line in enumerate(lines, start=1)
        for rule, where in _EXPECTED.findall(line)
    ]
    return Case(name, text, tuple(sorted(planted)))


def _line(lines: list[str], at: int, where: str) -> int:
    return lines.index(f"  {where}:") + 1 if where else at
