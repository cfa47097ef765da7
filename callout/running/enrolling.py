"""A pilot reads the vocabulary: from a microphone, a recording or a set, to a profile.

Rule of this file: it joins sound, prompts and the model; the arithmetic stands
in callout/ear/enrolment.py.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from callout.audio_block import AudioBlock, Samples
from callout.checklist.load import load
from callout.checklist.model import Aircraft, Ask, Choose
from callout.ear.acoustic import AcousticModel
from callout.ear.built_in import place
from callout.ear.built_in.adapter import align
from callout.ear.built_in.headset import CHANGED
from callout.ear.built_in.judging import Confidence
from callout.ear.built_in.scoring import free_score
from callout.ear.built_in.utterance import BEFORE, PAUSE, speech
from callout.ear.enrolment import Profile, Said, enrol, read, save
from callout.ear.from_file import blocks
from callout.running.recording_sets import Clip, read_set
from callout.words.normal import normalise
from callout.words.number_words import PLAIN_DIGITS, TENS
from callout.words.universal import UNIVERSAL, forms

Floats = NDArray[np.float32]

CERTAINTY = 0.5
"""Certainty at which an answer counts as accepted."""
MOST_PROMPTS = 90
"""At three seconds each, about four minutes and a half."""
PATIENCE = 6.0
"""Seconds a prompt waits for its words."""
SKIP = 1.5
"""Price of an utterance or a prompt that has no partner, in logarithms a phone."""


@dataclass(frozen=True, slots=True)
class Reading:
    """What was read: utterances with their texts, and all the sound at 16 kHz."""

    said: tuple[Said, ...]
    sound: Samples


def prompts(aircraft: Path | None) -> tuple[str, ...]:
    """What is read: common words, numbers, and the aircraft's answers."""
    common = [forms(word)[0] for word in UNIVERSAL]
    numbers = [*PLAIN_DIGITS, "niner", *TENS, "two four point five", "one zero zero"]
    answers = list(_answers(load(aircraft))) if aircraft else []
    texts = dict.fromkeys(normalise(text) for text in [*common, *numbers, *answers])
    return tuple(texts)[:MOST_PROMPTS]


def _answers(aircraft: Aircraft) -> Iterator[str]:
    for checklist in aircraft.lists:
        for item in checklist.items():
            if isinstance(item.task, Ask):
                yield from item.task.answers
            if isinstance(item.task, Choose):
                yield from (option.answers[0] for option in item.task.options)


def make_profile(name: str, reading: Reading) -> Profile:
    """Measure and adapt.  Raises ValueError with one sentence if too little was said."""
    confidence = Confidence.read(place.model_folder() / "confidence.json")
    return enrol(name, reading.said, reading.sound, confidence, CERTAINTY)


def profile_path(name: str, folder: Path | None) -> Path:
    """Where a profile is kept."""
    return (folder or place.profiles_folder()) / f"{name}.json"


def keep(profile: Profile, path: Path) -> None:
    """Write a profile."""
    save(profile, path)


def other_headset(path: Path, profile: Profile) -> float | None:
    """How far (dB) the headset's sound is from that of the profile before, if it changed."""
    if not path.exists():
        return None
    before = read(path).colour
    apart = before.apart(profile.colour) if before and profile.colour else None
    return apart if apart is not None and apart > CHANGED else None


def from_set(path: Path) -> Reading:
    """Recordings whose texts are known."""
    model = AcousticModel(place.model_folder())
    clips = [clip for clip in read_set(path) if clip.text]
    said = tuple(Said(clip.text, _rows(model, clip)) for clip in clips)
    return Reading(said, np.concatenate([clip.samples for clip in clips]))


def _rows(model: AcousticModel, clip: Clip) -> Floats:
    stream = model.stream()
    floor = np.random.default_rng(clip.place).normal(0, 3e-4, 8000).astype(np.float32)
    rows = [stream.push(sound) for sound in (floor, clip.samples, floor)]
    return np.concatenate([*rows, stream.finish()])


def from_recording(path: Path, texts: Sequence[str]) -> Reading:
    """One recording of all texts in their order; what was left out or said twice is skipped."""
    return _matched(list(blocks(path)), texts)


def from_microphone(
    name: str, texts: Sequence[str], ask: Callable[[int, int, str], None]
) -> Reading:
    """Ask for each text and hear what is said."""
    from callout.ear.capture import Microphone

    model = AcousticModel(place.model_folder())
    said: list[Said] = []
    sounds: list[Samples] = []
    with closing(Microphone(name)) as microphone:
        for count, text in enumerate(texts, start=1):
            ask(count, len(texts), text)
            rows, sound = _one(model, microphone.blocks())
            sounds.append(sound)
            if rows is not None:
                said.append(Said(text, rows))
    return Reading(tuple(said), np.concatenate(sounds))


def _one(model: AcousticModel, sound: Iterable[AudioBlock]) -> tuple[Floats | None, Samples]:
    """Hear one utterance: its rows, None if nobody spoke, and all the sound."""
    stream = model.stream()
    rows: list[Floats] = []
    heard: list[Samples] = []
    for block in sound:
        heard.append(block.samples)
        rows.append(stream.push(block.samples))
        spans = list(_spans(np.concatenate(rows)))
        over = sum(len(part) for part in heard) > PATIENCE * block.rate
        if over or (spans and spans[-1][1] + PAUSE <= sum(map(len, rows))):
            break
    spoken = bool(rows) and bool(speech(np.concatenate(rows)).any())
    return (np.concatenate(rows) if spoken else None), np.concatenate(heard)


def _matched(sound: Sequence[AudioBlock], texts: Sequence[str]) -> Reading:
    model = AcousticModel(place.model_folder())
    stream = model.stream()
    all_rows = np.concatenate([*(stream.push(b.samples) for b in sound), stream.finish()])
    parts = [all_rows[max(0, a - BEFORE) : b + BEFORE] for a, b in _spans(all_rows)]
    pairs = _in_order(parts, texts)
    said = tuple(Said(texts[text], parts[part]) for part, text in pairs)
    return Reading(said, np.concatenate([block.samples for block in sound]))


def _spans(rows: Floats) -> Iterator[tuple[int, int]]:
    """First and after-last row of each utterance."""
    places = np.flatnonzero(speech(rows))
    if len(places):
        breaks = np.flatnonzero(np.diff(places) > PAUSE)
        firsts = [places[0], *places[breaks + 1]]
        lasts = [*places[breaks], places[-1]]
        yield from ((int(a), int(b) + 1) for a, b in zip(firsts, lasts, strict=True))


def _in_order(parts: Sequence[Floats], texts: Sequence[str]) -> list[tuple[int, int]]:
    """Pair utterances with texts in their order, at the least price."""
    price = np.full((len(parts) + 1, len(texts) + 1), np.inf)
    price[:, 0] = SKIP * np.arange(len(parts) + 1)
    price[0] = SKIP * np.arange(len(texts) + 1)
    fits = np.full((len(parts), len(texts)), np.inf)
    for part, text in np.ndindex(*fits.shape):
        if abs(part - text) <= 8 + abs(len(parts) - len(texts)):
            fits[part, text] = _misfit(parts[part], texts[text])
        price[part + 1, text + 1] = min(
            price[part, text] + fits[part, text],
            price[part, text + 1] + SKIP,
            price[part + 1, text] + SKIP,
        )
    return _trace(price, fits)


def _trace(price: NDArray[np.float64], fits: NDArray[np.float64]) -> list[tuple[int, int]]:
    pairs: list[tuple[int, int]] = []
    part, text = fits.shape
    while part and text:
        if price[part, text] == price[part - 1, text - 1] + fits[part - 1, text - 1]:
            part, text = part - 1, text - 1
            pairs.append((part, text))
        elif price[part, text] == price[part - 1, text] + SKIP:
            part -= 1
        else:
            text -= 1
    return pairs[::-1]


def _misfit(rows: Floats, text: str) -> float:
    """How badly a text fits an utterance: logarithm lost a phone, 0 for perfectly."""
    path = align(rows, text)
    if path is None:
        return float("inf")
    return (free_score(rows) - path.score) / max(3, len(text.replace(" ", "")))
