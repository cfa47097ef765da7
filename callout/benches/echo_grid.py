"""Every level with every delay, side by side on the machine's cores.

Rule of this file: each room is measured in a process of its own and knows nothing of
the others, so that the order and the number of processes change no figure.
"""

from __future__ import annotations

import multiprocessing
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import lru_cache, partial
from pathlib import Path

from callout.audio_block import AudioBlock
from callout.benches import echo
from callout.benches.echo import Echoed
from callout.benches.echo_room import Loop
from callout.running.recording_sets import Clip, read_set


@dataclass(frozen=True, slots=True)
class Wanted:
    """What is measured in every room.

    Fields:
        aircraft: its file
        ear, voice: by their names
        pilot, noise: sets of recordings; snr: the pilot above the noise (dB)
        guarded: whether the ear is guarded
    """

    aircraft: Path
    ear: str
    voice: str
    pilot: tuple[Path, ...]
    noise: tuple[Path, ...]
    snr: float
    guarded: bool


def grid(wanted: Wanted, loops: Sequence[Loop], jobs: int) -> Iterator[tuple[str, Echoed]]:
    """Every way in every room, in the order of the rooms.  Raises SetError, FileProblems."""
    if jobs <= 1 or len(loops) <= 1:
        for loop in loops:
            yield from _measured(wanted, loop)
        return
    afresh = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(min(jobs, len(loops)), mp_context=afresh) as pool:
        for rows in pool.map(partial(_measured, wanted), loops):
            yield from rows


def _measured(wanted: Wanted, loop: Loop) -> list[tuple[str, Echoed]]:
    from callout.checklist.load import load
    from callout.ear.choose import make_ear

    noises = _clips(wanted.noise)
    under = echo.noise_at(noises, wanted.snr) if noises else None
    pilot = [clip for clip in _clips(wanted.pilot) if clip.text]
    ear, aircraft = make_ear(wanted.ear), load(wanted.aircraft)
    ways = echo.ways(ear, aircraft, _said(wanted.voice), loop, pilot, under, guarded=wanted.guarded)
    rows = list(ways)
    ear.close()
    return rows


def _clips(paths: Sequence[Path]) -> list[Clip]:
    return [clip for path in paths for clip in read_set(path)]


@lru_cache(maxsize=1)
def _said(voice: str) -> Callable[[str], AudioBlock]:
    """The voice, each sentence made once."""
    from callout.voice.choose import make_voice
    from callout.voice.clips import CLIP_RATE
    from callout.voice.shape import shaped

    made = make_voice(voice)
    return lru_cache(maxsize=None)(lambda text: shaped(made.synthesise(text), CLIP_RATE))
