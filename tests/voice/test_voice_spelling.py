"""The bundled voice's spelling from tables, against the library's own dicts."""

from __future__ import annotations

import random
import stat
from pathlib import Path

import pytest
from hibari.g2p import G2P

from callout import spelling
from callout.checklist.load import load
from callout.ear.pronounce import dictionary
from callout.engine import wording

EXAMPLE = Path(__file__).parents[2] / "checklists" / "reedlark.yaml"
ODD = (
    "I can't read it (again); he's at 3.5% or 10am, isn't he?",
    "Dr. Smith's N1 is 98.6, wilco.",
    "It was used; I used to read the live record.",
    "(",
    "",
)


@pytest.fixture(scope="module")
def folder(tmp_path_factory) -> Path:
    made = spelling.tables(tmp_path_factory.mktemp("cache"))
    assert made is not None
    return made


def test_tables_spell_as_the_library_does(folder: Path):
    """Every call of the example, 150 words of a dictionary, and odd sentences."""
    words = random.Random(5).sample(list(dictionary()), 150)
    texts = [*wording.calls(load(EXAMPLE)), *words, *ODD]
    own, lean = G2P(), spelling.with_tables(folder)

    assert [own(text) for text in texts] == [lean(text) for text in texts]


def test_tables_are_made_once(folder: Path):
    made = (folder / spelling.REST).stat().st_mtime_ns

    assert folder == spelling.tables(folder.parent)

    assert made == (folder / spelling.REST).stat().st_mtime_ns


def test_without_a_folder_to_write_to_there_are_no_tables(tmp_path: Path):
    """A file stands where the folder would be; the library's own way is left."""
    (tmp_path / "cache").write_text("", encoding="utf-8")

    assert spelling.tables(tmp_path / "cache") is None


def test_tables_half_written_do_not_count(tmp_path: Path):
    """A folder without its last file is made again."""
    version = f"hibari-{spelling.KNOWN[0]}"
    (tmp_path / version).mkdir(mode=stat.S_IRWXU)

    assert tmp_path / version == spelling.tables(tmp_path)
