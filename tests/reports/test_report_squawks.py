"""Squawks in a report: heard in the page, told on paper, never more sure than they are."""

from __future__ import annotations

import base64
import io
import re
from pathlib import Path

import numpy as np
import pypdf
import pytest
import soundfile
from click.testing import CliRunner
from report_rig import fact, stamp, write

from callout.audio_block import AudioBlock
from callout.cli.main import main
from callout.engine.events import Clock
from callout.logbook.clip_sound import FLAC, piece
from callout.logbook.purging import purge, recordings
from callout.logbook.squawks import TRANSCRIBE, act, keep, squawk
from callout.logbook.store import Logbook

TONE = np.sin(2 * np.pi * 700 * np.arange(48_000) / 16_000).astype(np.float32) * 0.3


@pytest.fixture
def log(tmp_path: Path) -> Path:
    """A session with a squawk of three seconds, two of which are the squawk's own."""
    path = tmp_path / "log.db"
    about = "walk-round/cowling"
    times = {"began": "10.00", "until": "12.00", "how": "said", "squawk": "1"}
    opened = fact("squawk opened", about, squawk="1", where="engine bay", called="cowling <b>")
    steps = [
        (10.0, Clock(), [opened]),
        (12.5, Clock(), [fact("squawk kept", about, **times)]),
        (14.0, Clock(), [fact("aircraft grounded", about, squawk="1")]),
    ]
    write(path, steps)
    with Logbook.open(path) as logbook:
        block = AudioBlock(TONE, 16_000, 10.0)
        keep(logbook, 1, "1", [piece(FLAC, block)], stamp(13.0))
        one = squawk(logbook, "1.1")
        act(logbook, one, TRANSCRIBE, "vosk", "loose rivet", stamp(100.0))
    return path


def page(log: Path) -> str:
    out = log.with_suffix(".html")
    done = CliRunner().invoke(main, ["report", "1", "--logbook", str(log), "--out", str(out)])
    assert 0 == done.exit_code, done.output
    return out.read_text(encoding="utf-8")


def test_the_clip_can_be_heard_in_the_page_and_ends_where_the_squawk_ended(log: Path):
    text = page(log)
    (coded,) = re.findall(r'<audio controls[^>]*src="data:audio/flac;base64,([^"]+)"', text)
    sound, rate = soundfile.read(io.BytesIO(base64.b64decode(coded)), dtype="float32")

    assert (16_000, 32_000) == (rate, len(sound))
    assert np.max(np.abs(sound - TONE[:32_000])) < 1e-3
    assert "media-src data:" in text  # the page's own policy lets it


def test_text_is_called_unverified_and_words_are_never_markup(log: Path):
    text = page(log)

    assert "Unverified, written down by a machine: loose rivet" in text
    assert "UTC: written down by a machine, unverified, loose rivet" in text
    assert "cowling &lt;b&gt;, engine bay" in text
    assert "Grounds the aircraft." in text
    assert "aircraft grounded by squawk 1" in text


def test_paper_tells_it_in_words(log: Path):
    out = log.with_suffix(".pdf")
    done = CliRunner().invoke(main, ["report", "1", "--logbook", str(log), "--pdf", str(out)])
    assert 0 == done.exit_code, done.output
    text = " ".join(page.extract_text() for page in pypdf.PdfReader(out).pages)

    assert "Unverified, written down by a machine: loose rivet" in " ".join(text.split())
    assert "Recording of 2.0 s." in text


def test_a_purged_clip_is_told_and_is_not_in_the_page(log: Path):
    with Logbook.open(log) as logbook:
        purge(logbook, recordings(logbook), "Ann", stamp(200.0))
    text = page(log)

    assert "<audio" not in text
    assert "The recording was removed." in text
    assert "recording removed, purged, by Ann" in text
