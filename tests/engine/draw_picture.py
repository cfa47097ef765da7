"""Redraws the picture of the states in DEVELOPERS.md from the table of rules.

python tests/engine/draw_picture.py
"""

from __future__ import annotations

import re
from pathlib import Path

from callout.engine.picture import mermaid

DEVELOPERS = Path(__file__).parents[2] / "DEVELOPERS.md"


def main() -> None:
    """Put the new picture where the old one stands."""
    text = DEVELOPERS.read_text(encoding="utf-8")
    fresh, count = re.subn(
        r"```mermaid\n.*?\n```", lambda _: f"```mermaid\n{mermaid()}\n```", text, flags=re.DOTALL
    )
    if count != 1:
        raise SystemExit("DEVELOPERS.md must hold exactly one ```mermaid block.")
    DEVELOPERS.write_text(fresh, encoding="utf-8")


if __name__ == "__main__":
    main()
