"""How the bundled voice reads text: its rules, without its dictionaries in memory.

Rule of this file: what it says is what hibari-tts says, to the letter. That
library keeps its words and the weights of its tagger as Python dicts; here they
are written once, by a process of its own, into sorted files in the user's cache
and looked up there. Where that cannot be (another version of the library, no
folder to write to), the library's own way is taken, which costs memory and
nothing else.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
import threading
from collections.abc import Callable
from contextlib import suppress
from functools import cache
from importlib import metadata
from pathlib import Path
from typing import Any

from callout.sorted_lines import SortedLines

KNOWN = ("0.2.1",)
"""Versions of hibari-tts whose tables were compared with their files, word by word."""
TABLES = ("gold", "silver", "weights")
REST = "rest.json"
MAKING = 60.0
"""Seconds in which the tables must be made, else the library's own way is taken."""
_END = b"\t"

_one_at_a_time = threading.Lock()


def speller() -> Callable[[str], str]:
    """Text to the symbols of hibari's sounds; one for the whole program.

    Raises ImportError without hibari-tts.
    """
    with _one_at_a_time:
        return _speller()


@cache
def _speller() -> Callable[[str], str]:
    from hibari.g2p import G2P

    folder = tables()
    made: Callable[[str], str] = G2P() if folder is None else with_tables(folder)
    return made


def default_folder() -> Path:
    """Where the tables are kept."""
    import platformdirs

    return platformdirs.user_cache_path("callout", appauthor=False) / "spelling"


def tables(folder: Path | None = None) -> Path | None:
    """The folder that holds this version's tables, made if need be; None where there are none."""
    version = metadata.version("hibari-tts")
    if version not in KNOWN:
        return None
    there = (folder or default_folder()) / f"hibari-{version}"
    if not (there / REST).is_file():
        command = [sys.executable, "-m", "callout.spelling", str(there)]
        with suppress(OSError, subprocess.TimeoutExpired):
            subprocess.run(command, timeout=MAKING, capture_output=True, check=False)
    return there if (there / REST).is_file() else None


def with_tables(folder: Path) -> Callable[[str], str]:
    """The G2P of hibari on tables in a folder instead of on dicts."""
    from hibari.g2p import G2P, Lexicon, Tagger, Tokenizer, _load_json

    gold, silver, weights = (_Table(folder / name) for name in TABLES)
    rest = json.loads((folder / REST).read_text(encoding="utf-8"))
    g2p: Any = G2P.__new__(G2P)
    g2p.lexicon = Lexicon(gold, silver)
    g2p.tokenizer = Tokenizer(_load_json("tokenizer_exceptions.json"))
    g2p.tagger = Tagger({**rest, "weights": weights})
    g2p._oov, g2p.unk, g2p.british = None, "", False
    made: Callable[[str], str] = g2p
    return made


class _Table:
    """The one thing that hibari asks of its dicts: the value of a key, or None."""

    def __init__(self, path: Path) -> None:
        self._lines = SortedLines(path, _END)

    def get(self, key: str) -> Any:  # noqa: ANN401 - what JSON holds
        found = self._lines.find(_escaped(key))
        return json.loads(found[0].partition(_END)[2]) if found else None


def _escaped(key: str) -> bytes:
    """The key without a tab, a line's end or a "(" in it."""
    return json.dumps(key).replace("(", "\\u0028").encode()


def write_tables(folder: Path) -> None:
    """Write hibari's dictionaries as sorted files; the folder is there whole or not at all."""
    from hibari.g2p import _load_json

    folder.parent.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(dir=folder.parent) as beside:
        new = Path(beside) / folder.name
        new.mkdir()
        tagger = _load_json("tagger.json.gz")
        _write(new / "gold", _load_json("lexicon_us_gold.json.gz"))
        _write(new / "silver", _load_json("lexicon_us_silver.json.gz"))
        _write(new / "weights", tagger.pop("weights"))
        (new / REST).write_text(json.dumps(tagger), encoding="utf-8")
        with suppress(OSError):  # another process was first: its tables are the same
            os.replace(new, folder)


def _write(path: Path, table: dict[str, Any]) -> None:
    lines = sorted((_escaped(key), json.dumps(value).encode()) for key, value in table.items())
    with path.open("wb") as file:
        for key, value in lines:
            file.write(key + _END + value + b"\n")


if __name__ == "__main__":
    write_tables(Path(sys.argv[1]))
