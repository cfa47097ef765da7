"""Which voice to speak with: speed, memory, and words understood by PocketSphinx.

Usage: python tests/voice/measure_voices.py [--noise NAME.ogg] [VOICE...]

VOICE is one of callout's voices, by default all. NAME.ogg holds recordings of
noise one after another, with NAME.json beside it (a list of {"samples": n});
the first fifteen are used in turn. Without it only clean sound is measured.
Each voice is timed in a fresh process. Prints a table in Markdown.
"""

from __future__ import annotations

import argparse
import json
import resource
import statistics
import subprocess
import sys
import time
from pathlib import Path

import jiwer
import numpy as np
import soundfile
import soxr

sys.path.insert(0, str(Path(__file__).parent))
from voice_calls import CALLS, HEARING_RATE, Listener, words

from callout.voice.choose import VOICES, make_voice
from callout.voice.clips import CLIP_RATE
from callout.voice.shape import active_level, shaped

SNRS = (10, 5, 0)


def timed(name: str) -> dict[str, float]:
    """Run in a fresh process: seconds and memory of one voice."""
    before = memory()
    start = time.perf_counter()
    voice = make_voice(name)
    voice.synthesise(CALLS[0])
    cold = time.perf_counter() - start
    took, sound = [], 0.0
    for call in CALLS:
        tries = []
        for _ in range(3):
            start = time.perf_counter()
            block = voice.synthesise(call)
            tries.append(time.perf_counter() - start)
        took.append(min(tries))  # other programs on the machine only ever add time
        sound += block.seconds
    used = memory() - before
    if hasattr(voice, "close"):
        voice.close()  # what its child process used is known when that has ended
        used = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
    return {
        "cold": cold,
        "warm": statistics.median(took),
        "worst": max(took),
        "factor": sum(took) / sound,
        "memory": used,
    }


def memory() -> float:
    """Memory in use (MB; Linux)."""
    pages = int(Path("/proc/self/statm").read_text().split()[1])
    return pages * resource.getpagesize() / 2**20


def noises(path: Path) -> list[np.ndarray]:
    """The first fifteen recordings, 16 kHz, shape [n] each."""
    samples, rate = soundfile.read(path, dtype="float32")
    assert rate == HEARING_RATE
    sizes = [entry["samples"] for entry in json.loads(path.with_suffix(".json").read_text())]
    ends = np.cumsum(sizes)[:15]
    return [samples[end - size : end] for end, size in zip(ends, sizes, strict=False)]


def mixed(speech: np.ndarray, noise: np.ndarray, snr: float) -> np.ndarray:
    """Speech (active level) `snr` dB above the noise (RMS), both 16 kHz."""
    noise = np.resize(noise, len(speech))
    level = 10 * np.log10(np.mean(noise.astype(np.float64) ** 2))
    gain = 10 ** ((active_level(speech, HEARING_RATE) - snr - level) / 20)
    return speech + noise * gain


def understood(name: str, noise: list[np.ndarray]) -> dict[str, float]:
    """Word error rate (%) of each condition, and seconds of sound for each call."""
    voice = make_voice(name)
    clips = [shaped(voice.synthesise(call), CLIP_RATE) for call in CALLS]
    if hasattr(voice, "close"):
        voice.close()
    speech = [soxr.resample(clip.samples, CLIP_RATE, HEARING_RATE) for clip in clips]
    said = [words(call) for call in CALLS]
    by_words, general = Listener(), Listener("anything")
    result = {"seconds": statistics.mean(clip.seconds for clip in clips)}
    for label, listener in (("clean", by_words), ("general", general)):
        heard = [listener.hear(sound, HEARING_RATE) for sound in speech]
        result[label] = 100 * jiwer.wer(said, heard)
        if label == "clean":
            wrong = [f"{s} -> {h}" for s, h in zip(said, heard, strict=True) if s != h]
            result["whole"] = 100 * (1 - len(wrong) / len(said))
            print(f"{name}:", *wrong, sep="\n  ", file=sys.stderr)
    for snr in SNRS if noise else ():
        heard = [
            by_words.hear(mixed(sound, noise[i % len(noise)], snr), HEARING_RATE)
            for i, sound in enumerate(speech)
        ]
        result[f"{snr} dB"] = 100 * jiwer.wer(said, heard)
    return result


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--noise", type=Path)
    parser.add_argument("--time", metavar="VOICE", help="time one voice, print JSON")
    parser.add_argument("voices", nargs="*", default=list(VOICES))
    arguments = parser.parse_args()
    if arguments.time:
        print(json.dumps(timed(arguments.time)))
        return
    noise = noises(arguments.noise) if arguments.noise else []
    rows = []
    for name in arguments.voices:
        command = [sys.executable, __file__, "--time", name]
        row = json.loads(subprocess.run(command, capture_output=True, check=True).stdout)
        rows.append({"voice": name} | row | understood(name, noise))
    print_table(rows)


def print_table(rows: list[dict[str, float]]) -> None:
    """Markdown, one row a voice."""
    columns = {
        "voice": ("voice", "{}"),
        "cold": ("first sentence, cold (s)", "{:.2f}"),
        "warm": ("a call, warm, median (ms)", "{:.0f}"),
        "worst": ("worst (ms)", "{:.0f}"),
        "factor": ("real-time factor", "{:.3f}"),
        "memory": ("memory (MB)", "{:.0f}"),
        "seconds": ("length of a call (s)", "{:.2f}"),
        "whole": ("whole calls right, clean (%)", "{:.0f}"),
        "clean": ("WER clean (%)", "{:.1f}"),
        **{f"{snr} dB": (f"WER {snr} dB (%)", "{:.1f}") for snr in SNRS},
        "general": ("WER clean, general model (%)", "{:.1f}"),
    }
    used = {key: value for key, value in columns.items() if key in rows[0]}
    print("| " + " | ".join(title for title, _ in used.values()) + " |")
    print("|---" * len(used) + "|")
    for row in rows:
        units = {key: 1000 if "(ms)" in title else 1 for key, (title, _) in used.items()}
        cells = [
            form.format(row[key] * units[key] if key != "voice" else row[key])
            for key, (_, form) in used.items()
        ]
        print("| " + " | ".join(cells) + " |")


if __name__ == "__main__":
    main()
