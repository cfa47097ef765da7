"""Models on the disk: unpacked safely, added, told apart."""

from __future__ import annotations

import io
import re
import stat
import zipfile
from pathlib import Path

import pytest
from click.testing import CliRunner
from ear_models_rig import FILES, archive, left_over, model_at, published
from ear_server import Publisher, serving

from callout.cli.model import command
from callout.ear.fetch import fetch
from callout.ear.models import PUBLISHED, fault, installed, models_folder, vosk_model
from callout.ear.problems import ModelProblem
from callout.ear.unpack import add, unpack

HOSTILE = {
    "up": ({"../../escape": b"x"}, "leads outside"),
    "absolute": ({"/tmp/escape": b"x"}, "leads outside"),
    "drive": ({"C:/escape": b"x"}, "leads outside"),
    "backslash": ({"a\\..\\..\\escape": b"x"}, "leads outside"),
    "file as folder": ({"a": b"x", "a/b": b"x"}, "cannot be unpacked"),
    "no model": ({"top/readme": b"x"}, "no Vosk model"),
}


@pytest.mark.parametrize("name", HOSTILE)
def test_a_hostile_archive_is_refused_even_with_the_right_checksum(tmp_path: Path, name: str):
    entries, says = HOSTILE[name]
    content = archive(entries)
    folder = tmp_path / "a" / "b" / "models"

    with serving(Publisher(content)) as publisher, pytest.raises(ModelProblem, match=says):
        fetch(published(content, publisher.url), folder)

    assert [] == installed(folder)
    assert [] == [path for path in tmp_path.rglob("*") if "escape" in path.name]


def test_a_link_in_an_archive_is_refused(tmp_path: Path):
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w") as opened:
        link = zipfile.ZipInfo("top/link")
        link.external_attr = (stat.S_IFLNK | 0o777) << 16
        opened.writestr(link, "/etc/passwd")
    (tmp_path / "a.zip").write_bytes(made.getvalue())

    with pytest.raises(ModelProblem, match="no plain file: 'top/link'"):
        unpack(tmp_path / "a.zip", tmp_path / "out")


def test_a_bomb_is_refused_by_its_size(tmp_path: Path):
    """Ten megabytes of zeros pack into ten kilobytes."""
    (tmp_path / "a.zip").write_bytes(archive({"top/zeros": bytes(10_000_000)}))

    with pytest.raises(ModelProblem, match="unpack to more than 1000000 bytes"):
        unpack(tmp_path / "a.zip", tmp_path / "out", most_bytes=1_000_000)


def test_a_bomb_that_lies_about_its_size_is_stopped(tmp_path: Path):
    """Both places that tell the size say 10 bytes; there are ten million."""
    content = archive({"top/zeros": bytes(10_000_000)})
    lying = content.replace((10_000_000).to_bytes(4, "little"), (10).to_bytes(4, "little"))
    assert lying != content
    (tmp_path / "a.zip").write_bytes(lying)
    (tmp_path / "out").mkdir()

    with pytest.raises(ModelProblem):
        unpack(tmp_path / "a.zip", tmp_path / "out", most_bytes=1_000_000)

    written = sum(path.stat().st_size for path in tmp_path.joinpath("out").rglob("*.*"))
    assert written <= 1_000_000


@pytest.mark.parametrize("content", [b"", b"not a zip", archive()[:5000]])
def test_what_is_no_archive_is_told(tmp_path: Path, content: bytes):
    (tmp_path / "a.zip").write_bytes(content)

    with pytest.raises(ModelProblem, match="not a zip archive"):
        add(tmp_path / "a.zip", tmp_path / "models")


def test_a_model_is_added_from_a_folder_or_an_archive(tmp_path: Path):
    (tmp_path / "packed.zip").write_bytes(archive())
    folder = tmp_path / "models"

    add(model_at(tmp_path / "open"), folder)
    add(tmp_path / "packed.zip", folder)
    add(tmp_path / "packed.zip", folder, "other")

    assert ["open", "other", "packed"] == left_over(folder)
    assert ["", "", ""] == [fault(model) for model in installed(folder)]


def test_a_name_is_not_taken_twice(tmp_path: Path):
    add(model_at(tmp_path / "open"), tmp_path / "models")

    with pytest.raises(ModelProblem, match="already a model named open"):
        add(tmp_path / "open", tmp_path / "models")


@pytest.mark.parametrize(
    ("missing", "says"),
    [
        ("am/final.mdl", "has no am/final.mdl"),
        ("conf/mfcc.conf", "has no conf/mfcc.conf"),
        ("graph/Gr.fst", "cannot be told which phrases count"),
    ],
)
def test_what_a_model_lacks_is_named(tmp_path: Path, missing: str, says: str):
    model = model_at(tmp_path / "m", tuple(name for name in FILES if name != missing))

    assert says in fault(model)


def test_which_model_is_used(tmp_path: Path):
    """None: the line that fetches one. One: that. Two: say which. A name or a path: that one."""
    with pytest.raises(ModelProblem, match="callout model fetch vosk-small-en-us"):
        vosk_model(None, tmp_path)

    first = model_at(tmp_path / "first")
    assert first == vosk_model(None, tmp_path)

    second = model_at(tmp_path / "second")
    with pytest.raises(ModelProblem, match="first, second"):
        vosk_model(None, tmp_path)
    assert second == vosk_model(Path("second"), tmp_path)
    assert first == vosk_model(first, tmp_path / "elsewhere")

    with pytest.raises(ModelProblem, match="none of that name"):
        vosk_model(Path("third"), tmp_path)


def test_where_models_are(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    """The folder given, then the environment's, then the user's own."""
    monkeypatch.delenv("CALLOUT_MODELS", raising=False)
    assert ("callout", "models") == models_folder().parts[-2:]
    monkeypatch.setenv("CALLOUT_MODELS", str(tmp_path))
    assert tmp_path == models_folder()
    assert tmp_path / "x" == models_folder(tmp_path / "x")


def test_every_published_model_has_a_whole_checksum_and_a_secure_address():
    for name, model in PUBLISHED.items():
        assert name == model.name
        assert re.fullmatch("[0-9a-f]{64}", model.sha256)
        assert model.url.startswith("https://")


def test_the_commands_add_and_list(tmp_path: Path):
    model = model_at(tmp_path / "mine")
    folder = ["--folder", str(tmp_path / "models")]

    added = CliRunner().invoke(command, ["add", str(model), *folder])
    again = CliRunner().invoke(command, ["add", str(model), *folder])
    listed = CliRunner().invoke(command, ["list", *folder])

    assert (0, 2, 0) == (added.exit_code, again.exit_code, listed.exit_code)
    assert "already a model named mine" in again.output
    assert "mine: ready for --ear vosk" in listed.output
    assert "Can be fetched: vosk-small-en-us" in listed.output
