"""One utterance being heard: when it begins, and when enough has been heard.

Rule of this file: rows of the model in, a verdict out; no sound, no clock. All
lengths are in rows. A row is speech when the model says that it holds a phone.

Waiting. A text that cannot go on is accepted after a breath; one that can
("two five" may become "two five zero") waits for a real pause; and what is not
understood is refused only after that pause, too. The sound is known a little
further than the rows: where it is quiet after the last word, less is waited.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import Enum

import numpy as np
from numpy.typing import NDArray

from callout.ear.acoustic import STEP_SECONDS
from callout.ear.built_in.alone import speech as speech
from callout.ear.built_in.grammar_machine import GrammarMachine
from callout.ear.built_in.judging import Confidence, Judgement, Sounded, judge
from callout.ear.built_in.lag import Lag
from callout.ear.built_in.loudness import Loudness, Quiet
from callout.ear.built_in.passing import TokenPassing
from callout.ear.built_in.word_graph import After

Floats = NDArray[np.float32]


def _rows(seconds: float) -> int:
    return max(1, round(seconds / STEP_SECONDS))


BEFORE = _rows(0.30)
"""Rows before the first row of speech that belong to the utterance."""
PAUSE = _rows(0.55)
"""Silence after which an utterance is over in any case."""
PATIENCE = {After.NOTHING: _rows(0.28), After.UNIT: _rows(0.32), After.MORE: PAUSE}
"""Rows without speech before a complete text is taken, by what may follow it."""
SILENCE = {After.NOTHING: 0.28, After.UNIT: 0.52, After.MORE: 0.60}
"""Silence (s) after the word that is enough where nobody speaks after it: the sound is known
further than the rows.
"""
LOWER = 0.44
"""The same (s) after a text that cannot go on, where it is only well below the word: "set" may
be the loud half of "centered".
"""
EARLY = 0.6
"""Before the pause is over nothing less certain is taken, however little is asked for: half
a word may be a word.
"""
LONGEST = _rows(9.0)
"""What is longer is talk and no answer."""
ALIVE = 6.0
"""While another token is better than the complete text less this, it is too early."""


TALK = _rows(1.0)
"""An utterance that is refused and at least so long was talk, not a missed answer."""
AMID_TALK = _rows(1.2)
"""What begins sooner after talk belongs to it more often than not."""
AMID_TALK_DOUBT = 2.0
"""Certainty taken off for that (log odds)."""


class Verdict(Enum):
    """What became of an utterance."""

    ACCEPTED = "accepted"
    NOT_SURE = "not sure enough"
    NOT_IN_GRAMMAR = "not in the grammar"


@dataclass(frozen=True, slots=True)
class Heard:
    """The end of an utterance.

    Fields:
        verdict: what became of it
        judgement: of the nearest text; None when there is none
        first, last: rows of its first and last sound, counted from its first row
        threshold: the certainty that was asked for
    """

    verdict: Verdict
    judgement: Judgement | None
    first: int
    last: int
    threshold: float

    @property
    def certainty(self) -> float:
        """Of the judgement, 0 for none."""
        return self.judgement.certainty if self.judgement else 0.0

    @property
    def was_talk(self) -> bool:
        """Whether somebody talked who gave no answer."""
        return self.verdict is not Verdict.ACCEPTED and self.last - self.first >= TALK


class Utterance:
    """Rows from just before the first sound on, until a verdict."""

    def __init__(
        self,
        grammar: GrammarMachine,
        confidence: Confidence,
        before: Floats,
        loudness: Loudness,
        first_row: int,
        lag: Lag,
    ) -> None:
        """Begin with the rows `before`, the last of which is the first row of speech.

        `first_row` is the place of the first of them in the stream that `loudness` hears.
        """
        self._loudness = loudness
        self._lag = lag
        self._first_row = first_row
        self.grammar = grammar
        self._confidence = confidence
        self._passing = TokenPassing(grammar.machine)
        self._rows: list[Floats] = []
        self._length = 0
        self._first = -1
        self._last = -1
        self._asked_at = -1
        self._take(before)

    @property
    def length(self) -> int:
        """Rows heard so far."""
        return self._length

    def push(self, rows: Floats) -> Heard | None:
        """Hear more rows; the verdict if there is one now."""
        for row in rows:
            self._take(row[None])
            if self._quiet >= PAUSE:
                return self.finish()
            if self._complete():
                heard = self._judged()
                if heard.verdict is Verdict.ACCEPTED and heard.certainty >= EARLY:
                    return heard
        return None

    def finish(self) -> Heard:
        """Decide on what was heard."""
        return self._judged()

    @property
    def _quiet(self) -> int:
        return self._length - 1 - self._last if self._last >= 0 else 0

    @property
    def too_long(self) -> bool:
        """Whether this is talk: longer than any answer."""
        return self._length > LONGEST

    def _take(self, rows: Floats) -> None:
        if not self.too_long:
            self._passing.push(rows)
            self._rows.append(rows)
        for sounds in speech(rows):
            if sounds:
                self._first = self._length if self._first < 0 else self._first
                self._last = self._length
            self._length += 1

    def _complete(self) -> bool:
        """Whether a text is complete, will not go on, and nothing better is under way."""
        if self._quiet < 1 or self.too_long or self._asked_at == self._last:
            return False
        score, node = self._passing.best_end()
        if node < 0 or self._quiet < self._patience(node):
            return False
        if score < self._passing.best_alive() - ALIVE:
            return False
        self._asked_at = self._last
        return True

    def _in_stream(self, first: int, last: int) -> tuple[int, int, int]:
        """Two rows of this utterance and the newest row of sound, as places in the stream."""
        newest = self._length - 1 + self._lag.ahead
        return self._first_row + first, self._first_row + last, self._first_row + newest

    def _audible(self, first: int, last: int) -> NDArray[np.bool_]:
        """Which rows are loud enough to be of who said the words that show from first to last."""
        begin, end, newest = self._in_stream(first, last)
        return self._loudness.audible(self._first_row, self._length, (begin, end + 1), newest)

    def _patience(self, node: int) -> int:
        """Rows to wait when a text ends at this node of the word graph."""
        after = self.grammar.after(node)
        quiet = self._loudness.after(*self._in_stream(self._first, self._last))
        if quiet is Quiet.NO or (quiet is Quiet.LOWER and after is not After.NOTHING):
            return PATIENCE[after]
        seconds = SILENCE[after] if quiet is Quiet.SILENT else LOWER
        return max(1, _rows(seconds) - self._lag.heard)

    def _judged(self) -> Heard:
        judgement: Judgement | None = None
        if not self.too_long:
            rows = np.concatenate(self._rows)
            judgement = judge(
                rows,
                self._passing,
                self.grammar.machine,
                self._confidence,
                self.grammar.meaning,
                self.grammar.likely,
                Sounded(
                    lambda *span: self._loudness.stands_out(*self._in_stream(*span)),
                    self._audible,
                ),
            )
        if judgement is not None and (trusted := self.grammar.trusted(judgement.text)):
            sure = replace(self._confidence, offset=self._confidence.offset + trusted)
            judgement = replace(judgement, certainty=sure.of(judgement.measures))
        match = judgement and self.grammar.match(judgement.text)
        threshold = match.certainty if match else 1.0
        verdict = Verdict.NOT_IN_GRAMMAR
        if judgement is not None and not judgement.alone and self.grammar.alone(judgement.text):
            verdict = Verdict.NOT_IN_GRAMMAR
        elif judgement is not None and judgement.certainty >= threshold:
            verdict = Verdict.ACCEPTED
        elif judgement is not None and judgement.certainty >= threshold / 4:
            verdict = Verdict.NOT_SURE
        return Heard(verdict, judgement, self._first, self._last, threshold)
