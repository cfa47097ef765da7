"""What an invented session holds beside its lists: a squawk now and then, an hour's feed.

Rule of this file: rows as the logbook writes them, figures invented; the sounds and the
readings are of the size that measured ones have.
"""

from __future__ import annotations

import json
import sqlite3
import zlib
from collections.abc import Iterator
from functools import cache
from random import Random

import numpy as np

from callout.audio_block import AudioBlock
from callout.checklist.model import Aircraft
from callout.logbook.clip_sound import FLAC, RATE, piece

SQUAWK_EVERY = 10
"""Sessions from one squawk to the next; each is closed before the next session but one."""

CLIP_SECONDS = 6

FEED_MINUTES, FEED_HZ = 30, 10
"""A feed of all gauges, in the sessions that are reported on."""

Line = tuple[bool, str, str, str, float]
"""(is a fact, name, about, data, session seconds)."""


def fact(name: str, about: str, now: float, **data: str) -> Line:
    """A fact as it stands in the logbook."""
    written = {"fact": name, "about": about, "data": list(data.items())}
    return True, name, about, json.dumps(written, separators=(",", ":")), now


def squawk(number: int, about: str, now: float) -> Iterator[Line]:
    """What is written down of one, in session `number`, and of the one before it."""
    if number % SQUAWK_EVERY == 1 and number > SQUAWK_EVERY:
        yield fact("squawk closed", about, now, squawk=f"{number - 1}.1", how="repaired")
    if number % SQUAWK_EVERY:
        return
    yield fact("squawk opened", about, now, squawk="1", where="left side", called="Fuel cap")
    until = f"{now + CLIP_SECONDS:.2f}"
    yield fact("squawk kept", about, now + CLIP_SECONDS, squawk="1", how="said",
               began=f"{now:.2f}", until=until)  # fmt: skip


_CLIP = "INSERT INTO clips VALUES (NULL, ?, '1', 'flac', ?, 1.0, ?, ?, ?, ?, ?)"


def keep(connection: sqlite3.Connection, number: int, wall: str, boot: str) -> None:
    """The recording of a session's squawk."""
    for second, sound in enumerate(_sounds()):
        row = (number, float(second), sound, float(second), wall, 100.0, boot)
        connection.execute(_CLIP, row)


@cache
def _sounds() -> list[bytes]:
    """A second each of noise as loud as talk in a helicopter, as FLAC."""
    noise = np.random.default_rng(1).normal(0, 0.004, RATE * CLIP_SECONDS).astype(np.float32)
    starts = range(0, len(noise), RATE)
    return [piece(FLAC, AudioBlock(noise[at : at + RATE], RATE)).sound for at in starts]


_SAMPLES = "INSERT INTO samples VALUES (NULL, ?, ?, ?, ?, ?, ?, ?, ?)"


def feed(
    connection: sqlite3.Connection, aircraft: Aircraft, number: int, after: int, wall: str,
    boot: str,
) -> None:  # fmt: skip
    """Readings of every gauge, a row of `samples` a second; `after` is the latest entry."""
    dice = Random(number)  # noqa: S311 - invented figures, no secret
    gauges = [gauge.id for gauge in aircraft.gauges]
    for second in range(FEED_MINUTES * 60):
        at = [second + step / FEED_HZ for step in range(FEED_HZ) for _ in gauges]
        columns = {
            "gauges": gauges,
            "gauge": [*range(len(gauges))] * FEED_HZ,
            "value": [f"{40 + dice.gauss(0, 1):.1f}" for _ in at],
            "at": at,
            "now": at,
        }
        data = zlib.compress(json.dumps(columns, separators=(",", ":")).encode("ascii"))
        row = (number, after, len(at), data, float(second + 1), wall, 100.0 + second, boot)
        connection.execute(_SAMPLES, row)
