"""Where the logbook lies when nobody says otherwise.

Rule of this file: it names a path and touches no disk.
"""

from __future__ import annotations

from pathlib import Path

import platformdirs


def default_logbook() -> Path:
    """Name the person's own logbook: logbook.db in the system's folder for a program's data."""
    return platformdirs.user_data_path("callout", appauthor=False) / "logbook.db"
