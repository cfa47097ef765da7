"""Writes .ci/licences.md: what every installed dependency of callout says of its licence.

Rule of this file: it reads what the packages themselves declare (importlib.metadata), from
callout's own requirements on; nothing is judged and nothing is looked up. `make supply`
runs it.
"""

from __future__ import annotations

import re
from importlib.metadata import PackageNotFoundError, distribution
from pathlib import Path

from packaging.requirements import Requirement

PAGE = Path(__file__).with_name("licences.md")
# Without "dictation", which is too large to be installed for the tests; DEVELOPERS.md tells its.
EXTRAS = ("", "espeak", "glance", "pedal", "pdf", "plot", "postgres")


def needed(name: str, extras: tuple[str, ...]) -> set[str]:
    """Every distribution that this one needs here, and what those need."""
    found: set[str] = set()
    todo = [(name, extras)]
    while todo:
        one, wanted = todo.pop()
        try:
            requirements = distribution(one).requires or []
        except PackageNotFoundError:
            continue  # of an extra that is not installed here
        for text in requirements:
            requirement = Requirement(text)
            marker = requirement.marker
            holds = marker is None or any(marker.evaluate({"extra": extra}) for extra in wanted)
            other = canonical(requirement.name)
            if holds and (other not in found or requirement.extras):
                found.add(other)
                todo.append((other, ("", *requirement.extras)))
    return {one for one in found if _installed(one)}


def canonical(name: str) -> str:
    """The one spelling of a package's name (packaging.python.org, name normalisation)."""
    return re.sub(r"[-_.]+", "-", name).lower()


def _installed(name: str) -> bool:
    try:
        distribution(name)
    except PackageNotFoundError:
        return False
    return True


def licence(name: str) -> str:
    """As declared: the expression, else the classifiers, else the text's first line."""
    told = distribution(name).metadata
    if told["License-Expression"]:
        return str(told["License-Expression"])
    classified = [
        line.rpartition("::")[2].strip()
        for line in told.get_all("Classifier") or ()
        if line.startswith("License ::") and not line.endswith("OSI Approved")
    ]
    if classified:
        return ", ".join(classified)
    return (str(told["License"] or "").strip().splitlines() or ["not declared"])[0][:60]


def page() -> str:
    """The table."""
    lines = [
        "# Licences of every dependency",
        "",
        "Written by `make supply`: all extras, as installed on Linux x86-64, as each declares it.",
        "",
        "| package | version | licence |",
        "|---|---|---|",
    ]
    lines += [
        f"| {name} | {distribution(name).version} | {licence(name)} |"
        for name in sorted(needed("callout", EXTRAS))
    ]
    return "\n".join(lines) + "\n"


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
