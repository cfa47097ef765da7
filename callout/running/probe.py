"""The child process of diagnosis.py: tries one part of this machine and says how it went.

Rule of this file: sound systems and speech libraries can hang, print and crash;
here they do it in a process that can be ended. One JSON line out, nothing in.

Usage: python -m callout.running.probe devices|microphone|loudspeaker|ear|voice [NAME]
"""

from __future__ import annotations

import json
import os
import sys
import time
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from types import ModuleType
from typing import Any

LISTENS = 0.3
"""Seconds of sound that a microphone has to give."""

SILENT_FOR = 1.5
"""Seconds of nothing but noughts after which a microphone counts as giving no sound.

A room is never that silent: the microphone is muted, not allowed to this
program, or no microphone at all (what is sent to an output that plays nothing).
"""

WORD = "Ready."
"""What a voice is asked to say."""

Told = dict[str, Any]


def main(part: str, name: str = "") -> None:
    """Try it and print what was found, or {"wrong": a sentence}."""
    answer = os.fdopen(os.dup(sys.stdout.fileno()), "w", encoding="utf-8")
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    try:
        told = _PARTS[part](name)
    except Exception as problem:  # whatever it is, it is what the person has to know
        told = {"wrong": str(problem) or type(problem).__name__}
    answer.write(json.dumps(told) + "\n")
    answer.flush()
    # Libraries that would not end by themselves do not matter any more.
    os._exit(0)


def devices(_: str) -> Told:
    """Name every sound device, with the words that choose it and no other."""
    from callout.ear.sound_input import choose, microphones, sounddevice

    sound = sounddevice()
    able = microphones(sound)
    inputs = [
        {"name": name, "words": _words(lambda words: choose(words, able), number, (name, number))}
        for number, name in able
    ]
    outputs = [
        {"name": device["name"], "words": _words(_output(sound), number, _names(sound, device))}
        for number, device in enumerate(sound.query_devices())
        if device["max_output_channels"] > 0
    ]
    return {"microphones": inputs, "loudspeakers": outputs}


def _output(sound: ModuleType) -> Callable[[str], int]:
    return lambda words: int(sound.query_devices(words, "output")["index"])


def _names(sound: ModuleType, device: dict[str, Any]) -> Iterator[str]:
    """A device's name, and with its sound system's where several systems have it."""
    yield str(device["name"])
    yield f"{device['name']}, {sound.query_hostapis(device['hostapi'])['name']}"


def _words(chosen: Callable[[str], int | None], number: int, candidates: Iterable[object]) -> str:
    """The first of the candidates that chooses this device; "" if none does."""
    for words in map(str, candidates):
        try:
            if chosen(words) == number:
                return words
        except Exception:  # noqa: S112 - the chooser's way to say: another one, or several
            continue
    return ""


def microphone(words: str) -> Told:
    """Open it and wait for sound that is not nought."""
    import numpy as np

    from callout.ear.capture import Microphone
    from callout.ear.endpoint import RATE

    opened = Microphone(words)
    began, seconds, power, loudest = time.monotonic(), 0.0, 0.0, 0.0
    while seconds < LISTENS or (not loudest and seconds < SILENT_FOR):
        block = opened.read()
        if block is None or not len(block.samples):
            continue
        seconds += block.seconds
        power += float(np.sum(block.samples.astype(np.float64) ** 2))
        loudest = max(loudest, float(np.max(np.abs(block.samples))))
    level = 10 * np.log10(power / (seconds * RATE)) if power else None
    return {
        "name": opened.name,
        "rate": opened.rate,
        "level": None if level is None else round(float(level), 1),
        "took": round(time.monotonic() - began, 3),
    }


def loudspeaker(words: str) -> Told:
    """Open it until it asks for sound; nothing is heard."""
    from callout.voice.loudspeaker import Loudspeaker

    began = time.monotonic()
    opened = Loudspeaker(words or None)
    return {
        "name": opened.name,
        "rate": opened.rate,
        "took": round(time.monotonic() - began, 3),
    }


def ear(name: str) -> Told:
    """Make it ("NAME" or "NAME:MODEL") and tell it what counts, as a session does."""
    from callout.ear.choose import make_ear
    from callout.words.phrases import Grammar, Phrase

    began = time.monotonic()
    kind, _, model = name.partition(":")
    made = make_ear(kind, Path(model) if model else None)
    made.listen_for(Grammar(1, (Phrase("checked", "checked"), Phrase("say again", "say again"))))
    return {"name": made.name, "took": round(time.monotonic() - began, 3)}


def voice(name: str) -> Told:
    """Let it say one word twice: the first time loads what it needs."""
    from callout.voice.choose import make_voice

    began = time.monotonic()
    made = make_voice(name)
    sound = made.synthesise(WORD)
    first = time.monotonic()
    made.synthesise(WORD)
    again = time.monotonic()
    return {
        "identity": made.identity,
        "seconds": round(sound.seconds, 3),
        "first": round(first - began, 3),
        "again": round(again - first, 3),
    }


_PARTS: dict[str, Callable[[str], Told]] = {
    "devices": devices,
    "microphone": microphone,
    "loudspeaker": loudspeaker,
    "ear": ear,
    "voice": voice,
}


if __name__ == "__main__":
    main(*sys.argv[1:])
