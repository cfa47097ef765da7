"""Models: fetched over real sockets, unpacked safely, added from disk, told apart."""

from __future__ import annotations

import hashlib
import io
import os
import re
import socket
import stat
import zipfile
from pathlib import Path

import pytest
from click.testing import CliRunner
from ear_server import Publisher, serving

from callout.cli.model import command
from callout.ear.fetch import fetch
from callout.ear.models import PUBLISHED, Published, fault, installed, models_folder, vosk_model
from callout.ear.problems import ModelProblem
from callout.ear.unpack import add, unpack

FILES = ("am/final.mdl", "conf/mfcc.conf", "graph/HCLr.fst", "graph/Gr.fst")
"""The least that Vosk's own `Model` opens in a small model (vosk-api src/model.cc, from memory)."""


def archive(entries: dict[str, bytes] | None = None, top: str = "vosk-model-tiny/") -> bytes:
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as opened:
        for name in FILES if entries is None else ():
            opened.writestr(top + name, os.urandom(3000))
        for name, content in (entries or {}).items():
            opened.writestr(name, content)
    return made.getvalue()


def published(content: bytes, url: str) -> Published:
    return Published("tiny", url, hashlib.sha256(content).hexdigest(), "for tests")


def model_at(folder: Path, files: tuple[str, ...] = FILES) -> Path:
    for name in files:
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(b"model")
    return folder


def left_over(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


def test_a_model_is_fetched_verified_and_installed(tmp_path: Path):
    content = archive()
    told: list[tuple[int, int | None]] = []

    with serving(Publisher(content)) as publisher:
        made = fetch(
            published(content, publisher.url),
            tmp_path,
            progress=lambda here, total: told.append((here, total)),
        )

    assert tmp_path / "tiny" == made
    assert "" == fault(made)
    assert [made] == installed(tmp_path)
    assert ["tiny"] == left_over(tmp_path)
    assert (0, len(content)) == told[0]
    assert (len(content), len(content)) == told[-1]


def test_a_transfer_that_breaks_goes_on_where_it_stopped(tmp_path: Path):
    content = archive()

    with serving(Publisher(content, breaks_after=[1000, 2000])) as publisher:
        made = fetch(published(content, publisher.url), tmp_path)

    assert ["", "bytes=1000-", "bytes=3000-"] == publisher.asked
    assert "" == fault(made)


def test_a_later_call_takes_a_broken_transfer_up(tmp_path: Path):
    content = archive()
    with serving(Publisher(content, breaks_after=[1000])) as publisher:
        model = published(content, publisher.url)
        with pytest.raises(ModelProblem, match=r"broke off after 0\.0 MB .*goes on from there"):
            fetch(model, tmp_path, attempts=1)
        assert [] == installed(tmp_path)

        fetch(model, tmp_path, attempts=1)

    assert ["", "bytes=1000-"] == publisher.asked


def test_a_server_that_cannot_resume_sends_it_all_again(tmp_path: Path):
    content = archive()

    with serving(Publisher(content, breaks_after=[1000], resumes=False)) as publisher:
        made = fetch(published(content, publisher.url), tmp_path)

    assert "" == fault(made)


def test_what_was_complete_before_is_not_fetched_again(tmp_path: Path):
    """Killed between the last byte and the checksum: the server says 416, the file is used."""
    content = archive()
    (tmp_path / ".tiny.zip.part").write_bytes(content)

    with serving(Publisher(content)) as publisher:
        made = fetch(published(content, publisher.url), tmp_path)

    assert [f"bytes={len(content)}-"] == publisher.asked
    assert "" == fault(made)


def test_a_wrong_checksum_is_refused_and_thrown_away(tmp_path: Path):
    content = archive()
    with (
        serving(Publisher(content[:-1] + b"!")) as publisher,
        pytest.raises(ModelProblem, match="is not what its publisher gave out"),
    ):
        fetch(published(content, publisher.url), tmp_path)

    assert [] == left_over(tmp_path)


@pytest.mark.parametrize("status", [403, 404, 500])
def test_a_server_that_refuses_is_quoted(tmp_path: Path, status: int):
    with (
        serving(Publisher(b"", status=status)) as publisher,
        pytest.raises(ModelProblem, match=f"answered {status}"),
    ):
        fetch(published(b"", publisher.url), tmp_path)


def test_nobody_there_is_told_with_the_network_in_mind(tmp_path: Path):
    with socket.socket() as held:  # the address is nobody else's, and nobody listens there
        held.bind(("127.0.0.1", 0))
        nobody = f"http://127.0.0.1:{held.getsockname()[1]}/model.zip"
        with pytest.raises(ModelProblem, match=r"cannot be reached .*network"):
            fetch(published(b"", nobody), tmp_path)


def test_only_web_addresses_are_fetched(tmp_path: Path):
    (tmp_path / "secret").write_bytes(b"x")

    with pytest.raises(ModelProblem, match="no web address"):
        fetch(published(b"x", (tmp_path / "secret").as_uri()), tmp_path)


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


def test_the_command_refuses_what_a_mirror_changed(tmp_path: Path):
    with serving(Publisher(archive())) as publisher:
        result = CliRunner().invoke(
            command,
            ["fetch", "vosk-small-en-us", "--from", publisher.url, "--folder", str(tmp_path)],
        )

    assert 2 == result.exit_code
    assert "is not what its publisher gave out" in result.output
    assert [] == left_over(tmp_path)


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
