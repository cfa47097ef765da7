"""The indexed sets as one long sound on the GPU, and plans of batches over it.

Rule of this file: plans are made of places and lengths alone; the sound is
fetched and changed on the GPU by augment.py.
"""

from __future__ import annotations

from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from models.training.phrases import DIGITS, words_in
from models.training.prepare import GROUPS, LONGEST_RIVAL, RIVALS, TRAIN
from models.training.pronounce import PHONES

RATE = 16_000
SLOTS = 4
WEIGHTS = {
    "commands": 0.26,
    "words": 0.06,
    "prompts": 0.05,
    "read": 0.03,
    "kokoro": 0.41,
    "classic": 0.12,
    "others": 0.07,
}
"""How often a clip of each group is drawn."""
UNKNOWN = 0.08
"""Share of the items that are talk of which nobody knows the words."""
LONGEST_CONTEST = 24
"""Most phones of a text that is set against rivals."""
FAINT = 3
"""Of the rivals of each, so many are what was said but for one consonant."""
CONSONANTS = [
    PHONES.index(p) + 1 for p in words_in("B CH D DH F G HH JH K L M N NG P R S SH T TH V W Y Z ZH")
]
ENDINGS = [PHONES.index(p) + 1 for p in ("D", "T", "Z", "S", "N", "L", "K", "P", "M", "V", "F")]


def sound_file(folder: Path, name: str) -> Path:
    """Where the sound of a set lies."""
    found = [folder / f"{name}.{kind}" for kind in ("flac", "ogg")]
    return next(path for path in found if path.exists())


def _decode(path: Path) -> np.ndarray:
    """The samples of a file; kept beside it, because Opus takes its time."""
    import soundfile

    kept = path.with_suffix(".npy")
    if not kept.exists():
        np.save(kept, soundfile.read(path, dtype="int16")[0])
    return np.load(kept)


@dataclass
class Corpus:
    """All clips.

    Fields:
        sound: int16 [samples], every file one after another
        clips: int64 [n, 4]: start, length, text, group; TRAIN clips only
        cut: int64 [n, 2]: start and length without the quiet at both ends
        first, other: two pronunciations of each text, int64 [texts, 100], 0 after the end
        first_n, other_n: their lengths
        pool, pool_n: phones of rival texts
        rivals: int64 [texts, RIVALS], places in the pool
        starts: int64 [files], where each file begins in the sound
        digits: int64 [k], the clips that say one digit
    """

    sound: np.ndarray
    clips: np.ndarray
    cut: np.ndarray
    first: np.ndarray
    first_n: np.ndarray
    other: np.ndarray
    other_n: np.ndarray
    pool: np.ndarray
    pool_n: np.ndarray
    rivals: np.ndarray
    starts: np.ndarray
    digits: np.ndarray


def load(folder: Path, index: Path) -> Corpus:
    """Decode the files that the index names, in parallel."""
    held = np.load(index)
    paths = [sound_file(folder, name) for name in held["files"].tolist()]
    with ProcessPoolExecutor(16) as workers:
        sounds = list(workers.map(_decode, paths))
    starts = np.cumsum([0, *[len(s) for s in sounds]])
    sound = np.concatenate([*sounds, np.zeros(400_000, np.int16)])
    table = held["clips"]
    table = table[table[:, 5] == TRAIN]
    clips = np.stack([table[:, 1] + starts[table[:, 0]], *table[:, 2:5].T], 1)
    cut = np.array([_loud(sound, *row[:2]) for row in clips], np.int64)
    as_long = {k: held[k].astype(np.int64) for k in held.files if held[k].dtype.kind == "i"}
    return Corpus(
        sound,
        clips,
        cut,
        as_long["first"],
        as_long["first_n"],
        as_long["other"],
        as_long["other_n"],
        as_long["pool_phones"],
        as_long["pool_n"],
        as_long["rivals"],
        starts[:-1],
        np.flatnonzero(np.isin(held["texts"], [*DIGITS, "niner"])[clips[:, 2]]),
    )


def _loud(sound: np.ndarray, start: int, length: int) -> tuple[int, int]:
    """Start and length of what is within 30 dB of the loudest 10 ms, 30 ms around it kept."""
    frames = sound[start : start + length // 160 * 160].astype(np.float32).reshape(-1, 160)
    power = (frames**2).mean(1)
    loud = np.flatnonzero(power > power.max(initial=0.0) * 1e-3)
    if len(loud) == 0:
        return start, length
    first = max(0, loud[0] - 3) * 160
    last = min(length, (loud[-1] + 4) * 160)
    return start + first, last - first


@dataclass
class Plan:
    """One batch: which stretches go where, what is said, and its rivals.

    Fields:
        start, length, at: int64 [batch, SLOTS]: where in the sound, how many
            samples of it, at which sample of the item (at the item's speed)
        speed: float32 [batch]
        known: bool [batch]: whether the target is what is said; talk has none
        target, target_n: two ways of saying it, [2, batch, longest] and [2, batch]
        contest: int64 [m]: items that are set against rivals
        rival, rival_n: their rivals' phones, [m, k, 40] and [m, k]
    """

    start: np.ndarray
    length: np.ndarray
    at: np.ndarray
    speed: np.ndarray
    known: np.ndarray
    target: np.ndarray
    target_n: np.ndarray
    contest: np.ndarray
    rival: np.ndarray
    rival_n: np.ndarray


class Planner:
    """Draws batches."""

    def __init__(self, corpus: Corpus, seed: int) -> None:
        self.corpus = corpus
        self.rng = np.random.default_rng(seed)
        groups = corpus.clips[:, 3]
        self.members = {g: np.flatnonzero(groups == GROUPS.index(g)) for g in WEIGHTS}
        self.groups = [g for g in WEIGHTS if len(self.members[g])]
        weights = np.array([WEIGHTS[g] for g in self.groups])
        self.weights = weights / weights.sum()
        self.talks = np.flatnonzero(groups == GROUPS.index("talk"))
        # Real digits as often as all synthetic ones together.
        real = corpus.clips[corpus.digits, 3] == GROUPS.index("words")
        odds = np.where(real, 0.5 / max(1, real.sum()), 0.5 / max(1, (~real).sum()))
        self.digit_odds = odds / odds.sum() if len(odds) else odds

    def draw(self, count: int) -> np.ndarray:
        """Places of `count` clips, by the weights of the groups."""
        group = self.rng.choice(len(self.groups), count, p=self.weights)
        out = np.zeros(count, np.int64)
        for number, name in enumerate(self.groups):
            here = group == number
            out[here] = self.rng.choice(self.members[name], here.sum())
        return out

    def plan(self, batch: int, samples: int, contests: int, rivals: int) -> Plan:
        """A batch of items of `samples` samples; nothing said ends after samples - 5760."""
        c, rng = self.corpus, self.rng
        clip = self.draw(batch * SLOTS).reshape(batch, SLOTS)
        slots = rng.choice([0, 1, 2, 3, 4], batch, p=[0.05, 0.6, 0.2, 0.1, 0.05])
        if len(c.digits):
            number = rng.random(batch) < 0.18
            drawn = rng.choice(c.digits, (batch, SLOTS), p=self.digit_odds)
            clip = np.where(number[:, None], drawn, clip)
            slots = np.where(number, rng.choice([2, 3, 4], batch), slots)
        whole = (rng.random((batch, 1)) < 0.5) & (slots == 1)[:, None]
        start = np.where(whole, c.clips[clip, 0], c.cut[clip, 0])
        length = np.where(whole, c.clips[clip, 1], c.cut[clip, 1])
        speed = np.exp(rng.normal(0, 0.09, batch)).clip(0.8, 1.25).astype(np.float32)
        gap = rng.choice([0.0, 0.05, 0.15, 0.4], (batch, SLOTS)) * RATE * rng.random((batch, SLOTS))
        gap[:, 0] = 0
        room = samples - 5_760
        talk = rng.random(batch) < UNKNOWN * bool(len(self.talks))
        clip, slots = self._talking(talk, clip, slots)
        start, length = self._cut_from(talk, clip, start, length, int(0.8 * room))
        out_length = (length / speed[:, None]).astype(np.int64)
        ends = np.cumsum(out_length + gap.astype(np.int64), 1)
        used = (np.arange(SLOTS) < slots[:, None]) & (ends <= room)
        total = np.where(used, ends, 0).max(1)
        lead = (rng.random(batch) * (room - total)).astype(np.int64)
        at = lead[:, None] + ends - out_length
        length = np.where(used, length, 0)
        target, target_n = self._targets(clip, used & ~talk[:, None])
        short = (target_n[0] <= LONGEST_CONTEST) & ~talk
        single = np.flatnonzero((used.sum(1) == 1) & used[:, 0] & short)
        contest = rng.permutation(single)[:contests]
        text = c.clips[clip[contest, 0], 2]
        picked = np.argsort(
            rng.random((len(contest), RIVALS)) + np.linspace(0, 1.0, RIVALS)[None], 1
        )[:, :rivals]
        place = np.take_along_axis(c.rivals[text], picked, 1)
        rival, rival_n = c.pool[place], c.pool_n[place]
        self._faint(text, rival, rival_n)
        rival = rival[:, :, : rival_n.max(initial=1)].astype(np.int16)
        return Plan(start, length, at, speed, ~talk, target, target_n, contest, rival, rival_n)

    def _talking(
        self, talk: np.ndarray, clip: np.ndarray, slots: np.ndarray
    ) -> tuple[np.ndarray, np.ndarray]:
        """The clips and slots with talk in the one slot of the items that are talk."""
        if not talk.any():
            return clip, slots
        chosen = self.rng.choice(self.talks, len(talk))
        return np.where(talk[:, None], chosen[:, None], clip), np.where(talk, 1, slots)

    def _cut_from(
        self, talk: np.ndarray, clip: np.ndarray, start: np.ndarray, length: np.ndarray, most: int
    ) -> tuple[np.ndarray, np.ndarray]:
        """Starts and lengths, with a part of `most` samples at random of each talk."""
        whole = self.corpus.clips[clip]
        spare = np.maximum(whole[:, :, 1] - most, 0)
        begin = whole[:, :, 0] + (self.rng.random(spare.shape) * spare).astype(np.int64)
        part = np.minimum(whole[:, :, 1], most)
        return np.where(talk[:, None], begin, start), np.where(talk[:, None], part, length)

    def _faint(self, text: np.ndarray, rival: np.ndarray, rival_n: np.ndarray) -> None:
        """Put what was said, but for one consonant, in the place of the last rivals.

        The last consonant goes, one comes after it, or one is another: the
        differences between an answer and the words that are nearly it.
        """
        c, rng = self.corpus, self.rng
        for row, said in enumerate(text):
            phones = c.first[said, : c.first_n[said]].tolist()
            ways = (phones, c.other[said, : c.other_n[said]].tolist())
            for place in range(rival.shape[1] - FAINT, rival.shape[1]):
                changed = one_changed(rng, phones)
                if changed in ways or not 0 < len(changed) <= LONGEST_RIVAL:
                    continue
                rival[row, place] = 0
                rival[row, place, : len(changed)] = changed
                rival_n[row, place] = len(changed)

    def _targets(self, clip: np.ndarray, used: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Both ways of saying what the used slots of each item say, one after another."""
        c = self.corpus
        text = c.clips[clip, 2]
        ways = []
        for phones, lengths in ((c.first, c.first_n), (c.other, c.other_n)):
            ways.append(
                [
                    np.concatenate([phones[t, : lengths[t]] for t in row[here]] or [text[:0, 0]])
                    for row, here in zip(text, used, strict=True)
                ]
            )
        longest = max(1, *(len(said) for way in ways for said in way))
        target = np.zeros((2, len(clip), longest), np.int64)
        for way, items in enumerate(ways):
            for item, said in enumerate(items):
                target[way, item, : len(said)] = said
        return target, np.array([[len(said) for said in way] for way in ways])


def one_changed(rng: np.random.Generator, phones: list[int]) -> list[int]:
    """The phones with one consonant less at the end, one more, or one exchanged."""
    kind = rng.random()
    if kind < 0.35 and phones[-1] in CONSONANTS:
        return phones[:-1]
    if kind < 0.7:
        return [*phones, int(rng.choice(ENDINGS))]
    places = [place for place, phone in enumerate(phones) if phone in CONSONANTS]
    if not places:
        return [*phones, int(rng.choice(ENDINGS))]
    out = list(phones)
    # An ending twice as likely as any other place.
    out[rng.choice([*places, places[-1]])] = int(rng.choice(CONSONANTS))
    return out
