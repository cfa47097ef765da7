"""What became of squawks: the same from a file and from a real PostgreSQL server."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from callout.audio_block import AudioBlock
from callout.engine.effects import Record
from callout.engine.events import Clock, SessionOpened
from callout.logbook.clip_sound import FLAC, joined, piece
from callout.logbook.places import Server
from callout.logbook.purging import purge, recordings
from callout.logbook.squawks import (
    CLOSE,
    GROUND,
    TRANSCRIBE,
    act,
    drop_taken_back,
    keep,
    pieces,
    squawk,
    squawks,
    told,
)
from callout.logbook.stamp import RECORDING, Stamp
from callout.logbook.store import Logbook


def stamp(now: float, day: int = 1, boot: str = "boot") -> Stamp:
    return Stamp(now, f"2021-05-{day:02d}T09:30:{now:06.3f}Z", now + day * 86400.0, boot)


def fact(name: str, **data: str) -> Record:
    return Record(name, "w/c", tuple(data.items()))


def sound(began: float, seconds: float, seed: int) -> AudioBlock:
    noise = np.random.default_rng(seed).normal(0, 0.1, round(16_000 * seconds))
    return AudioBlock(noise.astype(np.float32), 16_000, began)


def session(logbook: Logbook, *facts: Record, day: int = 1, boot: str = "boot") -> int:
    number = logbook.begin("Rig", "1", "rig.yaml", "f", stamp(0.0, day, boot))
    logbook.append(number, SessionOpened(pilot="Ann"), [], stamp(0.0, day, boot))
    for at, one in enumerate(facts):
        logbook.append(number, Clock(), [one], stamp(at + 1.0, day, boot))
    logbook.finish(number, "ended", stamp(20.0, day, boot))
    return number


OPENED = fact("squawk opened", squawk="1", where="nose", called="Cap")
KEPT = fact("squawk kept", squawk="1", how="said", began="1.00", until="2.50")


def fill(logbook: Logbook) -> None:
    """Three squawks: one that was closed by voice later, one open, one taken back."""
    session(logbook, OPENED, KEPT)
    session(logbook, OPENED, fact("squawk noted", squawk="1", text="loose"), KEPT, day=2)
    session(logbook, OPENED, fact("squawk dropped", squawk="1"), day=3)
    session(logbook, fact("squawk closed", squawk="1.1", how="repaired"), day=4)
    session(logbook, OPENED, KEPT, day=5, boot=RECORDING)
    keep(logbook, 2, "1", [piece(FLAC, sound(1.0, 1.0, 1)), piece(FLAC, sound(2.0, 1.0, 2))],
         stamp(3.0))  # fmt: skip
    keep(logbook, 3, "1", [piece(FLAC, sound(1.0, 1.0, 3))], stamp(3.0))


def said(logbook: Logbook) -> list[object]:
    fill(logbook)
    first = squawks(logbook)
    open_ = told(logbook, "Rig", stamp(5.0, 6))
    one = squawk(logbook, "2.1")
    act(logbook, one, GROUND, "Bob", "", stamp(1.0, 7))
    act(logbook, one, TRANSCRIBE, "vosk", "machine's words", stamp(2.0, 7))
    whole = joined(pieces(logbook, 2, "1"), one.until)
    assert whole is not None
    drop_taken_back(logbook, 3)
    gone = pieces(logbook, 3, "1")
    grounded = told(logbook, "Rig", stamp(5.0, 6))
    act(logbook, squawk(logbook, "2.1"), CLOSE, "Bob", "riveted", stamp(3.0, 7))
    found = recordings(logbook)
    purge(logbook, found, "Bob", stamp(4.0, 7))
    return [first, open_, whole.samples.tobytes(), gone, grounded, found,
            told(logbook, "Rig", stamp(0.0, 8)), squawks(logbook)]  # fmt: skip


def test_a_file_and_a_server_tell_the_same(tmp_path: Path, database: Server):
    with Logbook.open(tmp_path / "log.db") as file, Logbook.open(database) as server:
        assert said(file) == said(server)


def test_what_is_open_is_told_with_its_age_text_and_sound(tmp_path: Path):
    with Logbook.open(tmp_path / "log.db") as logbook:
        first, open_, whole, gone, grounded, _, after, last = said(logbook)

    # A typed text stays a person's; a recording's session is nobody's past.
    row = ("2.1", "w/c", "nose", "Cap", 4, "loose", "typed")
    assert [((*row, False, True),), ((*row, True, True),), ()] == [open_, grounded, after]
    assert ["closed", "open", "dropped", "open"] == [one.state for one in first]
    assert [] == gone
    assert 24_000 * 4 == len(whole)
    history = [(step.what, step.who, step.how) for step in last[1].history]
    assert ("closed", "Bob", "riveted") in history
    assert ("recording removed", "Bob", "purged") in history
    assert ("closed", "Ann", "repaired") == (
        first[0].history[-1].what, first[0].history[-1].who, first[0].history[-1].how
    )  # fmt: skip
