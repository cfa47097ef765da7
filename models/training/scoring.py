"""What rows of log-probabilities say: exact scores of phrases, strings of digits.

Rule of this file: numpy alone; small and plain, for measuring. The program's
own decoder is another one, and the two can be held against each other.
"""

from __future__ import annotations

import itertools
from functools import cache

import numpy as np

from models.training import phrases
from models.training.pronounce import pronunciations, words_of


@cache
def ways(text: str) -> tuple[tuple[int, ...], ...]:
    """Up to eight pronunciations of a text."""
    parts = [pronunciations(w) for w in words_of(text)]
    return tuple(
        tuple(itertools.chain(*way)) for way in itertools.islice(itertools.product(*parts), 8)
    )


def forward_scores(logp: np.ndarray, sequences: list[tuple[int, ...]]) -> np.ndarray:
    """Exact CTC log-probability of each sequence, all at once, [len(sequences)]."""
    lengths = np.array([2 * len(s) + 1 for s in sequences])
    states = np.zeros((len(sequences), lengths.max()), int)
    for row, phones in enumerate(sequences):
        states[row, 1 : 2 * len(phones) : 2] = phones
    skip = np.zeros(states.shape, bool)
    skip[:, 3::2] = states[:, 3::2] != states[:, 1:-2:2]
    alpha = np.full(states.shape, -1e30)
    alpha[:, 0] = logp[0, 0]
    alpha[:, 1] = logp[0, states[:, 1]]
    nothing = np.full((len(sequences), 2), -1e30)
    for row in logp[1:]:
        before = np.concatenate([nothing, alpha], 1)
        best = np.logaddexp(alpha, before[:, 1:-1])
        best = np.where(skip, np.logaddexp(best, before[:, :-2]), best)
        alpha = best + row[states]
    ends = np.arange(len(sequences))
    return np.logaddexp(alpha[ends, lengths - 1], alpha[ends, lengths - 2])


def same(said: str, heard: str) -> bool:
    """Whether two texts sound alike ("standby", "stand by")."""
    return said == heard or (heard != "" and bool(set(ways(said)) & set(ways(heard))))


class DigitLoop:
    """A loop of digit words as one row of CTC states, for Viterbi."""

    def __init__(self) -> None:
        words = [*phrases.DIGITS, "niner"]
        self.words = [(w, way) for w in words for way in pronunciations(w)]
        phones, self.starts, self.ends, word = [], [], [], []
        for number, (_, way) in enumerate(self.words):
            self.starts.append(len(phones))
            for place, phone in enumerate(way):
                phones += [phone] if place == 0 else [0, phone]
            self.ends.append(len(phones) - 1)
            word += [number] * (len(phones) - self.starts[-1])
        self.phones, self.word = np.array(phones), word
        self.first = np.isin(np.arange(len(phones)), self.starts)
        two_back = np.roll(self.phones, 2)
        inside = np.arange(len(phones)) - np.array(self.starts)[word] >= 2
        self.skip = inside & (self.phones != 0) & (self.phones != two_back)

    def into(self, state: int, score: np.ndarray, said: list, gap: tuple) -> list[tuple]:
        """The ways into a state from others: (score, words so far)."""
        if not self.first[state]:
            ways_in = [(score[state - 1], said[state - 1])]
            if self.skip[state]:
                ways_in.append((score[state - 2], said[state - 2]))
            return ways_in
        word = self.word[state]
        ways_in = [(gap[0], (*gap[1], word))]
        before = max(self.ends, key=lambda e: score[e])
        if self.phones[before] != self.phones[state]:
            ways_in.append((score[before], (*said[before], word)))
        return ways_in


@cache
def digit_loop() -> DigitLoop:
    """The loop, built once."""
    return DigitLoop()


def digit_string(logp: np.ndarray) -> str:
    """The likeliest string of digits, any number of them (Viterbi over a loop of words)."""
    loop = digit_loop()
    score = np.full(len(loop.phones), -1e30)
    said: list[tuple] = [()] * len(score)
    gap: tuple = (0.0, ())
    for row in logp:
        best, best_said = score.copy(), list(said)
        for state in range(len(score)):
            for value, history in loop.into(state, score, said, gap):
                if value > best[state]:
                    best[state], best_said[state] = value, history
        finish = max(loop.ends, key=lambda e: score[e])
        if score[finish] > gap[0]:
            gap = (score[finish], said[finish])
        gap = (gap[0] + row[0], gap[1])
        score, said = best + row[loop.phones], best_said
    finish = max(loop.ends, key=lambda e: score[e])
    history = said[finish] if score[finish] > gap[0] else gap[1]
    return " ".join(loop.words[n][0].replace("niner", "nine") for n in history)
