"""What ticks a killer item though it is not its answer: every other phrase, opposites, negations.

Rule of this file: it measures and changes nothing. Voices speak (1) the answers, (2) whatever else
counts at any killer item and all other answers of the lists, (3) each answer with words before or
after it that make it something else, (4) its decoys; each is heard at killer items as a session
would hear them, and what ticks is counted.

    nice python -m models.opposites checklists/*.yaml --noise SETS/noise-train.json \\
        --voice hibari --voice en-us --snr clean,10,5,0 --share 0.05

`--share` of all pairs of a text and an item are heard (chosen by their names, the same in every
run); of texts that have no word in common with an answer a tenth of that. Voices are hibari or
names of eSpeak NG, which differs a little from process to process.
"""

from __future__ import annotations

import argparse
import zlib
from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from pathlib import Path

import numpy as np
import soxr

from callout.benches.false_accepts import TICKS
from callout.checklist.load import load
from callout.ear.acoustic import AcousticModel
from callout.ear.built_in.decoys import decoys
from callout.ear.built_in.grammar_machine import GrammarMachine
from callout.ear.built_in.judging import Confidence
from callout.ear.built_in.lag import Lag
from callout.ear.built_in.utterance import Verdict
from callout.running.asked import Asked, Kind, asked
from callout.running.recording_sets import RATE, Clip, mixed, pad, read_set
from callout.voice.espeak_voice import EspeakVoice
from callout.voice.hibari_voice import HibariVoice
from callout.words.understand import plain
from models.confidence import ends
from models.training.speak import trimmed

BESIDE = (
    *("not {}", "is not {}", "it's not {}", "isn't {}", "not yet {}", "not fully {}", "never {}"),
    *("nearly {}", "almost {}", "partly {}", "half {}", "un{}", "cannot be {}", "will be {}"),
    *("to be {}", "should be {}", "is it {}", "what is {}", "one {}", "left {}"),
    *("{} not", "not {} yet", "{} no", "{} in a moment"),
)
"""Words beside an answer that leave it no answer."""


def answers(one: Asked) -> set[str]:
    """The texts that tick an item."""
    return {plain(phrase.text) for phrase in one.grammar.phrases if phrase.means.startswith(TICKS)}


def killers(files: Sequence[Path]) -> list[Asked]:
    """Killer items with answers, each set of words that counts once."""
    found: dict[object, Asked] = {}
    for one in (one for file in files for kind in Kind for one in asked(load(file), kind)):
        if one.item.killer and answers(one):
            words = tuple((p.text, p.means.split(":")[0]) for p in one.grammar.phrases)
            found.setdefault(words, one)
    return list(found.values())


def texts(files: Sequence[Path], items: Sequence[Asked]) -> dict[str, str]:
    """What is said -> of which kind it is."""
    found: dict[str, str] = {}
    every = sorted({text for one in items for text in answers(one)})
    for text in every:
        found |= {frame.format(text): "beside" for frame in BESIDE}
        found |= dict.fromkeys(decoys(text), "opposite")
    counts = [p for one in items for p in one.grammar.phrases]
    counts += [
        phrase
        for file in files
        for kind in Kind
        for one in asked(load(file), kind)
        for phrase in one.grammar.phrases
        if phrase.means.startswith((*TICKS, "wrong:"))
    ]
    found |= {plain(phrase.text): "counts" for phrase in counts}
    return found | dict.fromkeys(every, "answer")


def spoken(name: str, text: str) -> Clip:
    """One text by one voice, peak 0.6."""
    voice = VOICES.setdefault(name, HibariVoice() if name == "hibari" else EspeakVoice(name, 130))
    block = voice.synthesise(text)
    sound = trimmed(soxr.resample(block.samples, block.rate, RATE))
    sound = (0.6 * sound / np.abs(sound).max()).astype(np.float32)
    return pad(Clip(plain(text), name, sound, zlib.crc32(f"{name}/{text}".encode())), 0.5, 1.2)


VOICES: dict[str, HibariVoice | EspeakVoice] = {}


def chosen(text: str, kind: str, place: int, voice: str, snr: float | None, share: float) -> bool:
    """Whether this pair is heard in this run."""
    least = share if kind != "counts" else share / 10
    return zlib.crc32(f"{text}|{place}|{voice}|{snr}".encode()) / 2**32 < least


def related(text: str, one: Asked) -> bool:
    """Whether a text was made of an answer of this item, or of one with a word in common."""
    words = set(text.split())
    return any(words & set(a.split()) or a in text or text in decoys(a) for a in answers(one))


def heard(asking: argparse.Namespace) -> Iterator[tuple[str, float | None, str, str, str]]:
    """(voice, ratio, kind, what was said, what it ticked or "") of each pair."""
    model, lag = AcousticModel(asking.model), Lag.read(asking.model)
    confidence = Confidence.read(asking.model / "confidence.json")
    noises = read_set(asking.noise)
    items = killers(asking.aircraft)
    machines = [GrammarMachine(one.grammar) for one in items]
    for voice in asking.voice:
        for text, kind in texts(asking.aircraft, items).items():
            clip = spoken(voice, text)
            for snr in asking.snr:
                rows, sound = None, mixed(clip, noises, snr)
                for place, one in enumerate(items):
                    right = clip.text in answers(one)
                    mine = "answer" if right else "counts" if kind == "answer" else kind
                    if not right and mine != "counts" and not related(clip.text, one):
                        continue
                    if not chosen(text, mine, place, voice, snr, asking.share):
                        continue
                    if rows is None:
                        stream = model.stream()
                        rows = np.concatenate([stream.push(sound), stream.finish()])
                    yield (
                        voice,
                        snr,
                        mine,
                        text,
                        ticked(rows, sound, machines[place], one, lag, confidence),
                    )


def ticked(
    rows: np.ndarray, sound: np.ndarray, machine: GrammarMachine, one: Asked, lag: Lag,
    confidence: Confidence,
) -> str:  # fmt: skip
    """The answer that was accepted, "" for none."""
    for end in ends(rows, sound, machine, lag, confidence):
        accepted = end.verdict is Verdict.ACCEPTED and end.judgement is not None
        if accepted and end.judgement.text in answers(one):
            return str(end.judgement.text)
    return ""


def main() -> None:
    """Speak, hear, count."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("aircraft", type=Path, nargs="+")
    parser.add_argument("--model", type=Path, default=Path("models"))
    parser.add_argument("--noise", type=Path, required=True)
    parser.add_argument("--voice", action="append", required=True)
    parser.add_argument("--snr", type=_ratios, default=(None,))
    parser.add_argument("--share", type=float, default=0.05)
    counts: dict[tuple[float | None, str], Counter[bool]] = defaultdict(Counter)
    astray: Counter[tuple[str, str]] = Counter()
    for _, snr, kind, text, answer in heard(parser.parse_args()):
        counts[snr, kind][bool(answer)] += 1
        if answer and kind != "answer":
            astray[text, answer] += 1
    for (snr, kind), found in counts.items():
        where = "clean" if snr is None else f"{snr:g} dB"
        print(f"{where:6} {kind:9} ticked {found[True]:5} of {found.total():5}")
    for (text, answer), times in astray.most_common(60):
        print(f"{times:4}  {text} as {answer}")


def _ratios(text: str) -> tuple[float | None, ...]:
    return tuple(None if word == "clean" else float(word) for word in text.split(","))


if __name__ == "__main__":
    main()
