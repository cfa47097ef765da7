"""Writes .ci/wheels.md: for which systems every dependency has a wheel, as the registry tells.

Rule of this file: nothing is downloaded but metadata, and nothing is believed that uv did
not resolve: for each system and Python all extras are resolved with wheels alone, and a
package without one for it is named. `make supply` runs it.
"""

from __future__ import annotations

import re
import subprocess
import sys
import tempfile
import tomllib
from pathlib import Path

TOP = Path(__file__).resolve().parents[1]
PAGE = TOP / ".ci" / "wheels.md"
SYSTEMS = {
    "Linux x86-64": "x86_64-unknown-linux-gnu",
    "Linux aarch64": "aarch64-unknown-linux-gnu",
    "macOS arm64": "aarch64-apple-darwin",
    "macOS x86-64": "x86_64-apple-darwin",
    "Windows x86-64": "x86_64-pc-windows-msvc",
}
PYTHONS = ("3.11", "3.12", "3.13")
MOST_SOURCES = 6
"""Packages without a wheel that are looked for on one system before it is given up."""

Found = dict[str, str]
"""Package -> its version, "source only" behind it where it has no wheel there."""


def resolved(system: str, python: str) -> Found:
    """Every package for this system; those without a wheel are let through one by one."""
    sources: list[str] = []
    for _ in range(MOST_SOURCES):
        done, why = _resolve(system, python, sources)
        if done is not None:
            return {
                name: version + (" (source only)" if name in sources else "")
                for name, version in done.items()
            }
        more = re.search(r"Wheels are required for `([^`]+)`", why)
        if more is None or more[1] in sources:
            raise SystemExit(f"{system}, Python {python}: {why}")
        sources.append(more[1])
    raise SystemExit(f"{system}, Python {python}: no wheels of {', '.join(sources)}")


def _resolve(system: str, python: str, sources: list[str]) -> tuple[Found | None, str]:
    with tempfile.TemporaryDirectory() as folder:
        out = Path(folder) / "pylock.toml"
        command = [
            "uv", "pip", "compile", "--quiet", str(TOP / "pyproject.toml"), "--all-extras",
            "--python-platform", system, "--python-version", python, "--format", "pylock.toml",
            "--output-file", str(out), "--only-binary", ":all:",
        ]  # fmt: skip
        for name in sources:
            command += ["--no-binary", name]
        done = subprocess.run(command, capture_output=True, text=True, cwd=TOP, check=False)
        if done.returncode:
            return None, done.stderr
        packages = tomllib.loads(out.read_text(encoding="utf-8"))["packages"]
    return {one["name"]: one["version"] for one in packages}, ""


def main() -> None:
    """Ask for every system, and write the page."""
    table: dict[str, dict[str, set[str]]] = {}
    for title, system in SYSTEMS.items():
        for python in PYTHONS:
            found = resolved(system, python)
            print(f"{title}, Python {python}: {len(found)} packages", file=sys.stderr)
            for name, version in found.items():
                table.setdefault(name, {}).setdefault(title, set()).add(version)
    PAGE.write_text(page(table), encoding="utf-8")


def page(table: dict[str, dict[str, set[str]]]) -> str:
    """The table; pyobjc's hundred and more parts, which macOS's voice brings, are one row."""
    objc = [name for name in table if name.startswith("pyobjc-framework")]
    lines = [
        "# Wheels of every dependency",
        "",
        f"Written by `make supply` from the registry's metadata: CPython {', '.join(PYTHONS)}.",
        "A version stands where a wheel is; an empty cell: not needed on that system.",
        "",
        f"| package | {' | '.join(SYSTEMS)} |",
        f"|---|{'---|' * len(SYSTEMS)}",
    ]
    for name in sorted(set(table) - set(objc)):
        cells = (", ".join(sorted(table[name].get(title, ()))) for title in SYSTEMS)
        lines.append(f"| {name} | {' | '.join(cells)} |")
    counts = (str(sum(title in table[name] for name in objc) or "") for title in SYSTEMS)
    lines.append(f"| pyobjc-framework-... (how many) | {' | '.join(counts)} |")
    return "\n".join(lines) + "\n"


if __name__ == "__main__":
    main()
