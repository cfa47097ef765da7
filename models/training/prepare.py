"""Gather the sets of recordings into one index: clips, roles, phones, rivals.

Rule of this file: who is trained on and who is kept for testing is decided
here, by speaker, and nowhere else. The sound itself stays in the `.ogg` files.

    python -m models.training.prepare FOLDER_WITH_SETS index.npz
"""

from __future__ import annotations

import json
import random
import sys
import zlib
from collections.abc import Sequence
from pathlib import Path

import numpy as np

from models.training import near, phrases
from models.training.pronounce import PHONES, common_words, phones_of, pronunciations, words_of

GROUPS = (
    "commands",
    "words",
    "prompts",
    "read",
    "kokoro",
    "classic",
    "digits",
    "talk",
    "noise",
    "others",
)
TRAIN, DEV, UNUSED = 0, 1, 2
DEV_WORD_SPEAKERS = 20
"""Of the 124 speakers of single words, so many are kept for testing."""
DEV_VOICES = ("bf_isabella", "am_puck", "slt", "espeak_en-gb-scotland", "espeak_en-us+f3")
"""Synthetic voices kept for testing, alone and in blends."""
DEV_NOISES = (3, 9, 20, 28, 34, 39, 42, 45, 46, 54, 82, 83, 84)
"""Places in noise-a kept for testing: background, drone, helicopter, one room, one rotor."""
LONGEST = 100
"""Most phones of a text that is trained on."""
LONGEST_RIVAL = 40
RIVALS = 48


def group_of(name: str, note: dict[str, str]) -> str:
    """Which group a clip of a set belongs to."""
    if name.startswith("words"):
        return "commands" if note["text"] in phrases.COMMANDS else "words"
    for start, group in (
        ("digits", "digits"),
        ("prompts", "prompts"),
        ("read", "read"),
        ("other", "talk"),
        ("noise", "noise"),
        ("made-classic", "classic"),
        ("made-slt", "classic"),
        ("made-others", "others"),
    ):
        if name.startswith(start):
            return group
    return "kokoro"


def dev_speakers(notes: Sequence[dict[str, str]]) -> set[str]:
    """The speakers of single words that are kept for testing."""
    everyone = sorted({n["speaker"] for n in notes}, key=lambda s: zlib.crc32(s.encode()))
    return set(everyone[:DEV_WORD_SPEAKERS])


def role_of(group: str, note: dict[str, str], place: int, kept: set[str]) -> int:
    """Whether a clip is for training, for testing, or for neither."""
    if group in ("commands", "words"):
        return DEV if note["speaker"] in kept else TRAIN
    if group == "digits":
        return DEV
    if group == "noise":
        return DEV if place in DEV_NOISES else TRAIN
    if group == "talk":
        return DEV if place % 2 else TRAIN
    if any(voice in note["speaker"] for voice in DEV_VOICES):
        return DEV
    return TRAIN


def two_ways(text: str) -> tuple[tuple[int, ...], tuple[int, ...]] | None:
    """The first pronunciation of a text, and the one with every second variant."""
    first = phones_of(text)
    if first is None:
        return None
    other: list[int] = []
    for word in words_of(text):
        ways = pronunciations(word)
        other.extend(ways[min(1, len(ways) - 1)])
    return first, tuple(other)


def rivals_of(texts: list[str], pool: list[str]) -> np.ndarray:
    """For each text the places in `pool` of the most alike other texts, [texts, RIVALS]."""
    from rapidfuzz.distance import Levenshtein
    from rapidfuzz.process import cdist

    def coded(text: str) -> str:
        return "".join(chr(65 + p) for p in phones_of(text) or ())

    pool_codes = [coded(t) for t in pool]
    place = {t: i for i, t in enumerate(pool)}
    domain = {*phrases.COMMANDS, *phrases.DIGITS, *phrases.all_answers(), *phrases.ALPHABET}
    domain |= set(near.alike())
    strange = np.array([0.0 if t in domain else 1.5 for t in pool])
    families = [phrases.COMMANDS, [*phrases.DIGITS, "niner"]]
    out = np.zeros((len(texts), RIVALS), np.int32)
    rng = random.Random(7)
    apart = cdist(
        [coded(t) for t in texts],
        pool_codes,
        scorer=Levenshtein.distance,
        dtype=np.uint8,
        workers=-1,
    )
    for row, text in enumerate(texts):
        mine = {"".join(chr(65 + p) for p in way) for way in two_ways(text) or ()}
        forced = [place[t] for f in families if text in f for t in f if t != text]
        order = np.argsort(
            apart[row] + strange + 0.01 * np.random.default_rng(row).random(len(pool))
        )
        chosen = [i for i in [*forced, *order[: RIVALS * 3]] if pool_codes[i] not in mine]
        chosen = list(dict.fromkeys(chosen))[:RIVALS]
        while len(chosen) < RIVALS:
            chosen.append(rng.randrange(len(pool)))
        out[row] = chosen
    return out


def padded(sequences: Sequence[Sequence[int]], longest: int) -> tuple[np.ndarray, np.ndarray]:
    """Sequences of phones as one array [n, longest] of zeros at the end, and their lengths."""
    out = np.zeros((len(sequences), longest), np.int16)
    for row, phones in enumerate(sequences):
        out[row, : len(phones)] = phones
    return out, np.array([len(p) for p in sequences], np.int16)


def gathered(folder: Path) -> tuple[list[str], list[tuple[int, ...]], list[str]]:
    """Names of the sets; of each clip set, start, length, text, group, role; the texts."""
    files, clips, texts = [], [], {}
    for path in sorted(folder.glob("*.json")):
        notes = json.loads(path.read_text(encoding="utf-8"))
        kept = dev_speakers(notes) if path.stem.startswith("words") else set()
        start = 0
        for place, note in enumerate(notes):
            group = group_of(path.stem, note)
            role = role_of(group, note, place, kept)
            text = -1
            if group not in ("talk", "noise"):
                ways = two_ways(note["text"])
                if ways is None or max(map(len, ways)) > LONGEST:
                    role = UNUSED
                else:
                    text = texts.setdefault(note["text"], len(texts))
            clips.append((len(files), start, note["samples"], text, GROUPS.index(group), role))
            start += note["samples"]
        files.append(path.stem)
    return files, clips, list(texts)


def pool_of(names: Sequence[str]) -> list[str]:
    """Texts that may be rivals of these: of the trade, short ones of the sets, common words."""
    extra = random.Random(3).sample(common_words(), 4000)
    short = [t for t in names if len(t.split()) <= 4]
    trade = [*phrases.COMMANDS, *phrases.DIGITS, "niner", *phrases.all_answers(), *near.alike()]
    spoken = [*phrases.ALPHABET, *phrases.TEENS, *phrases.TENS]
    pool = dict.fromkeys([*trade, *spoken, *short, *extra])
    return [t for t in pool if 0 < len(phones_of(t) or ()) <= LONGEST_RIVAL]


def show(clips: Sequence[tuple[int, ...]]) -> None:
    """How many clips and minutes each group has for training, for testing and unused."""
    table = np.array(clips)
    for number, group in enumerate(GROUPS):
        for role in (TRAIN, DEV, UNUSED):
            these = table[(table[:, 4] == number) & (table[:, 5] == role)]
            minutes = these[:, 2].sum() / 16_000 / 60
            print(
                f"{group:9} {('train', 'dev', 'unused')[role]:6} {len(these):6} {minutes:7.1f} min"
            )


def main() -> None:
    """Read every set's `.json`; write the index."""
    files, clips, names = gathered(Path(sys.argv[1]))
    ways = [two_ways(t) for t in names]
    first, first_n = padded([w[0] for w in ways], LONGEST)
    other, other_n = padded([w[1] for w in ways], LONGEST)
    pool = pool_of(names)
    pool_phones, pool_n = padded([phones_of(t) or () for t in pool], LONGEST_RIVAL)
    np.savez_compressed(
        Path(sys.argv[2]),
        files=np.array(files),
        clips=np.array(clips, np.int64),
        texts=np.array(names),
        first=first,
        first_n=first_n,
        other=other,
        other_n=other_n,
        pool=np.array(pool),
        pool_phones=pool_phones,
        pool_n=pool_n,
        rivals=rivals_of(names, pool),
        phones=np.array(PHONES),
    )
    show(clips)


if __name__ == "__main__":
    main()
