"""A model that is missing, cut short or of another kind is one sentence, no traceback."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from callout.ear.built_in.ear import open_built_in
from callout.ear.built_in.place import model_folder
from callout.ear.problems import ModelProblem

FILES = ("ear.onnx", "ear.json", "confidence.json", "lateness.json")


@pytest.fixture
def copied(tmp_path: Path) -> Path:
    for name in FILES:
        shutil.copy(model_folder() / name, tmp_path / name)
    return tmp_path


@pytest.mark.parametrize("name", FILES)
@pytest.mark.parametrize("damage", ["gone", "empty", "half", "other"])
def test_a_damaged_model_is_told_in_a_sentence(copied: Path, name: str, damage: str):
    file = copied / name
    data = file.read_bytes()
    file.unlink()
    if damage != "gone":
        file.write_bytes({"empty": b"", "half": data[: len(data) // 2], "other": b"{}"}[damage])

    with pytest.raises(ModelProblem, match="cannot be used"):
        open_built_in(copied)


def test_a_whole_model_opens(copied: Path):
    assert "built-in" == open_built_in(copied).name
