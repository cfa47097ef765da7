"""Tables looked up in their files, against plain reading of the same files."""

from __future__ import annotations

import random
from pathlib import Path

from hypothesis import given
from hypothesis import strategies as st

from callout.ear.pronounce import dictionary, model_folder
from callout.sorted_lines import SortedLines

KEYS = st.lists(st.text("abc'-", min_size=1, max_size=4), max_size=12)


def test_the_whole_dictionary_is_found_as_it_is_read_line_by_line():
    """Every tenth word of PocketSphinx's file, and words that are not in it."""
    read: dict[str, list[tuple[str, ...]]] = {}
    text = (model_folder() / "en-us" / "cmudict-en-us.dict").read_text(encoding="utf-8")
    for line in text.splitlines():
        word, *phones = line.split()
        read.setdefault(word.partition("(")[0], []).append(tuple(phones))

    known = dictionary()

    assert list(read) == list(known)
    assert len(read) == len(known)
    for word in random.Random(2).sample(list(read), len(read) // 10):
        assert tuple(read[word]) == known[word]
        assert (word + "zzz" in read) == (word + "zzz" in known)
    assert "" not in known
    assert "\udc80" not in known


@given(KEYS, KEYS, st.booleans())
def test_a_table_finds_what_it_holds_and_nothing_else(
    tmp_path_factory, held: list[str], asked: list[str], ends: bool
):
    path: Path = tmp_path_factory.mktemp("table") / "table"
    lines = sorted(f"{key}\t{number}" for number, key in enumerate(held))
    lines.sort(key=lambda line: line.partition("\t")[0].encode())
    path.write_text("\n".join(lines) + ("\n" if ends and lines else "") or "\n", encoding="utf-8")

    table = SortedLines(path, b"\t")

    for key in {*held, *asked}:
        wanted = sorted(f"{key}\t{n}".encode() for n, one in enumerate(held) if one == key)
        assert wanted == sorted(table.find(key.encode()))
