"""Every input that once broke something, and seeds of each form, go through their target again.

`tests/fuzz/run_fuzz.py` searches for more.
"""

from __future__ import annotations

import importlib
import re
from pathlib import Path

import pytest

CORPUS = Path(__file__).parent / "corpus"
TARGETS = sorted(folder.name for folder in CORPUS.iterdir())


@pytest.mark.parametrize("target", TARGETS)
def test_the_corpus_breaks_nothing(target):
    module = importlib.import_module(f"fuzz_{target}")
    inputs = sorted((CORPUS / target).iterdir())
    assert inputs
    for path in inputs:
        data = path.read_bytes()
        assert len(data) <= module.MOST, f"{path} is longer than what is searched"
        try:
            module.one(data)
        except Exception as error:
            raise AssertionError(f"{path}: {error!r}") from error


def test_there_is_a_corpus_for_every_target():
    targets = {path.stem.removeprefix("fuzz_") for path in CORPUS.parent.glob("fuzz_*.py")}

    assert targets == set(TARGETS)


@pytest.mark.parametrize("words", sorted((CORPUS.parent / "words").iterdir()), ids=lambda p: p.stem)
def test_words_have_the_form_that_the_fuzzer_reads(words):
    """A line it cannot read ends it (llvm.org/docs/LibFuzzer.html, dictionaries)."""
    for line in words.read_text(encoding="ascii").splitlines():
        assert re.fullmatch(r'"([^"\\]|\\x[0-9a-f]{2})+"', line), line
