"""Where a logbook lies: a file, or a server that several share.

Rule of this file: it names places and touches no disk and no network.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import unquote

import platformdirs

from callout.logbook.errors import LogbookError

_URL = re.compile(r"(?P<kind>[A-Za-z][A-Za-z0-9+]+)://(?P<rest>.*)", re.DOTALL)


@dataclass(frozen=True, slots=True)
class Server:
    """A logbook in a PostgreSQL database, by its SQLAlchemy URL."""

    url: str

    def __str__(self) -> str:
        """The URL as it may be shown: without the password."""
        return re.sub(r"(://[^/@]*?):[^/]*@", r"\1@", self.url)

    @property
    def key(self) -> str:
        """What stands for this database whoever asks: no user, no password, no encryption."""
        plain = re.sub(r"^[^:]+://(?:[^/]*@)?", "", self.url)
        place, _, options = plain.partition("?")
        kept = [one for one in options.split("&") if one and not one.startswith("ssl")]
        return "?".join([place, *(["&".join(kept)] if kept else [])])


Place = Path | Server


def place(words: str) -> Place:
    """Read a file's name or a URL; LogbookError for a URL of something else."""
    url = _URL.fullmatch(words)
    if url is None:
        return Path(words)
    kind = url["kind"].partition("+")[0].lower()
    if kind in ("postgresql", "postgres"):
        return Server(words if kind != "postgres" else words.replace("postgres", "postgresql", 1))
    if kind == "sqlite" and url["rest"].startswith("/") and len(url["rest"]) > 1:
        return Path(unquote(url["rest"][1:]))
    raise LogbookError(
        f"{words!r} names no logbook. Give a file, or postgresql://USER@HOST/DATABASE."
    )


def default_logbook() -> Path:
    """Name the person's own logbook: logbook.db in the system's folder for a program's data."""
    return platformdirs.user_data_path("callout", appauthor=False) / "logbook.db"
