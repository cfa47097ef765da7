"""Models fetched over real sockets: resumed where they broke off, and held to their checksum."""

from __future__ import annotations

import socket
from pathlib import Path

import pytest
from click.testing import CliRunner
from ear_models_rig import archive, left_over, published
from ear_server import Publisher, serving

from callout.cli.model import command
from callout.ear.fetch import fetch
from callout.ear.models import fault, installed
from callout.ear.problems import ModelProblem


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


def test_the_command_refuses_what_a_mirror_changed(tmp_path: Path):
    with serving(Publisher(archive())) as publisher:
        result = CliRunner().invoke(
            command,
            ["fetch", "vosk-small-en-us", "--from", publisher.url, "--folder", str(tmp_path)],
        )

    assert 2 == result.exit_code
    assert "is not what its publisher gave out" in result.output
    assert [] == left_over(tmp_path)
