"""What the tests of this room share: small files, and files with a marked place."""

from __future__ import annotations

from pathlib import Path

from callout.checklist.load import load
from callout.checklist.model import Aircraft
from callout.checklist.problems import FileProblems

EXAMPLES = Path(__file__).parents[2] / "checklists"
MARK = "§"
"""Stands in a text where a problem is expected; taken out before the file is written."""

HEAD = """callout: 1
aircraft:
  name: Test bench
  revision: "1"
  written_by: nobody
  limits_from: {handbook: none}
"""


def write(folder: Path, text: str, name: str = "aircraft.yaml") -> Path:
    """The text as a file."""
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return path


def loaded(folder: Path, text: str) -> Aircraft:
    """The aircraft of a text."""
    return load(write(folder, text))


def problems_of(path: Path) -> list[str]:
    """What loading says, with the folder taken out of the file names."""
    try:
        load(path)
    except FileProblems as error:
        return [str(problem).replace(f"{path.parent}/", "") for problem in error.problems]
    return []


def problems(folder: Path, text: str) -> list[str]:
    """What loading a text says."""
    return problems_of(write(folder, text))


def item_problems(folder: Path, item: str) -> list[str]:
    """What loading says of one item, whose lines begin in line 10 and column 7."""
    lines = "\n".join(f"      {line}" for line in item.strip("\n").splitlines())
    return problems(folder, f"{HEAD}lists:\n  first:\n    items:\n{_dashed(lines)}\n{GAUGES}")


def _dashed(lines: str) -> str:
    return lines if lines.lstrip().startswith("- ") else lines.replace("      ", "    - ", 1)


GAUGES = """gauges:
  volts:
    unit: V
    range: 0 to 35
    decimals: 1
"""


def marked(text: str) -> tuple[str, int, int]:
    """The text without its mark, and the line and column (from 1) where the mark stood."""
    before, after = text.split(MARK)
    return before + after, before.count("\n") + 1, len(before) - (before.rfind("\n") + 1) + 1
