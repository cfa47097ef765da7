"""How late the model tells of a sound: its look-ahead, and how long after a phone it shows it.

Rule of this file: both belong to one set of weights and are read beside them.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path

FILE = "lateness.json"
"""Written by models/lateness.py."""


@dataclass(frozen=True, slots=True)
class Lag:
    """In rows of the model.

    Fields:
        ahead: the sound is known for so many rows beyond the newest row
        late: a phone shows so many rows after it sounded (median over clean words)
    """

    ahead: int
    late: int

    @property
    def heard(self) -> int:
        """Rows of sound after a word that are known when its last phone shows."""
        return self.ahead + self.late

    @staticmethod
    def read(folder: Path) -> Lag:
        """Read what belongs to the model in `folder`."""
        about = json.loads((folder / "ear.json").read_text(encoding="utf-8"))
        measured = json.loads((folder / FILE).read_text(encoding="utf-8"))
        return Lag(int(about["look_ahead"]), int(measured["late"]))
