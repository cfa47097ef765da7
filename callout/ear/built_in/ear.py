"""The built-in ear: sound in, Heard and NotUnderstood out.

Rule of this file: it keeps time and joins the parts. What is listened for is
compiled in grammar_machine.py, decided in utterance.py, weighed in judging.py.

The sound is one stream as long as it comes without a gap. An utterance is
judged by the grammar that counted when it sounded: a grammar that comes while
somebody speaks, or before the model has told of it, is for what comes next.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from callout.audio_block import AudioBlock
from callout.ear.acoustic import STEP_SECONDS, AcousticModel
from callout.ear.built_in import utterance as hearing
from callout.ear.built_in.adapter import Adapter
from callout.ear.built_in.grammar_machine import GrammarMachine, get_ready
from callout.ear.built_in.headset import Colour, Listening
from callout.ear.built_in.judging import Confidence
from callout.ear.built_in.lag import Lag
from callout.ear.built_in.loudness import ROW, Loudness
from callout.ear.built_in.place import model_folder
from callout.ear.built_in.utterance import Utterance, Verdict, speech
from callout.ear.problems import ModelProblem
from callout.ear.pronounce import dictionary
from callout.engine.events import Heard, NotUnderstood
from callout.words.phrases import Grammar

if TYPE_CHECKING:
    from callout.ear.enrolment import Profile

Floats = NDArray[np.float32]

GAP = 0.2
"""Sound that comes so much later (s) than the last ended begins a new stream."""
CHUNK = 1280
"""While somebody speaks the network runs once for so many samples (80 ms)."""
IDLE_CHUNK = 3840
"""The same while nobody does (240 ms): each run costs nearly the same, however much it hears."""


class BuiltInEar:
    """One stream of sound, heard by the built-in model.

    Fields:
        name, rate: as in callout.ear.protocol.Ear
        confidence: how sure a match is; enrolment puts a speaker's own here
    """

    name = "built-in"
    rate = 16_000

    def __init__(
        self,
        model: AcousticModel,
        confidence: Confidence,
        lag: Lag,
        watch: Callable[[hearing.Heard], None] | None = None,
    ) -> None:
        """Listen with a model that is open; `watch` is told of every utterance in full."""
        dictionary()  # read now, so that the first grammar does not wait for it
        self.confidence = confidence
        self._lag = lag
        self._stream = model.stream()
        self._watch = watch
        self._adapter: Adapter | None = None
        self._colour: Colour | None = None
        self._listening = Listening()
        self._grammars = [(0, GrammarMachine(Grammar(0)))]
        self._ends_at = 0.0
        self._start_over(0.0)

    def take(self, profile: Profile) -> None:
        """From now on hear as a speaker's profile says."""
        self.confidence = replace(self.confidence, offset=profile.offset)
        self._adapter, self._colour = profile.adapter, profile.colour
        self._listening = Listening()

    def headset_apart(self) -> float | None:
        """How far (dB) what is heard is from the profile's headset; None for not known.

        From headset.CHANGED on it is probably another one.
        """
        heard = self._listening.colour() if self._colour else None
        return self._colour.apart(heard) if self._colour and heard else None

    def listen_for(self, grammar: Grammar) -> None:
        """From the next sound on, this is what counts."""
        self._grammars.append((self._heard // ROW, GrammarMachine(grammar)))

    def prepare(self, grammars: Sequence[Grammar]) -> None:
        """Compile what these are made of; from any thread, while the ear hears on another."""
        get_ready(grammars)

    def hear(self, sound: AudioBlock | str) -> Sequence[Heard | NotUnderstood]:
        """Take the next block of 16 kHz sound; return what was understood.  A line is nothing."""
        if isinstance(sound, str):
            return ()
        events: list[Heard | NotUnderstood] = []
        if abs(sound.captured_at - self._ends_at) > GAP:
            events += self.finish()
            self._start_over(sound.captured_at)
        self._ends_at = sound.ends_at
        self._heard += len(sound.samples)
        if self._colour is not None:
            self._listening.hear(sound.samples)
        self._waiting.append(sound.samples)
        enough = IDLE_CHUNK if self._utterance is None else CHUNK
        if sum(len(samples) for samples in self._waiting) >= enough:
            samples = np.concatenate(self._waiting)
            self._waiting.clear()
            self._loudness.hear(samples)
            events += self._rows_came(self._stream.push(samples))
        return events

    def finish(self) -> Sequence[Heard | NotUnderstood]:
        """Decide on what is still being heard: no more sound comes."""
        if not self._any:
            return []
        rest = np.concatenate([*self._waiting, np.zeros(0, np.float32)])
        self._loudness.hear(rest)
        rows = np.concatenate([self._stream.push(rest), self._stream.finish()])
        events = self._rows_came(rows)
        if self._utterance is not None:
            events += self._told(self._utterance.finish())
        self._start_over(self._ends_at)
        return events

    def close(self) -> None:
        """Forget the stream."""
        self._start_over(0.0)

    @property
    def _any(self) -> bool:
        return self._row > 0 or bool(self._waiting)

    def _start_over(self, at: float) -> None:
        self._stream.reset()
        self._waiting: list[Floats] = []
        self._began_at = self._ends_at = at
        self._row = 0
        self._heard = 0
        self._grammars = [(0, self._grammars[-1][1])]
        self._before = np.zeros((0, 40), np.float32)
        self._utterance: Utterance | None = None
        self._first_row = 0
        self._talk_ended = -hearing.AMID_TALK
        self._loudness = Loudness(self._lag)

    def _rows_came(self, rows: Floats) -> list[Heard | NotUnderstood]:
        events: list[Heard | NotUnderstood] = []
        for row in self._adapter(rows) if self._adapter and len(rows) else rows:
            events += self._row_came(row[None])
            self._row += 1
        return events

    def _row_came(self, row: Floats) -> list[Heard | NotUnderstood]:
        self._before = np.concatenate([self._before, row])[-hearing.BEFORE - 1 :]
        if self._utterance is None:
            if not speech(row)[0]:
                return []
            self._first_row = self._row + 1 - len(self._before)
            self._utterance = Utterance(
                self._grammar_at(self._row - self._lag.late),
                self._confidence_now(),
                self._before,
                self._loudness,
                self._first_row,
                self._lag,
            )
            return []
        heard = self._utterance.push(row)
        return [] if heard is None else self._told(heard)

    def _grammar_at(self, row: int) -> GrammarMachine:
        """The grammar that counted when this row sounded."""
        while len(self._grammars) > 1 and self._grammars[1][0] <= row:
            del self._grammars[0]
        return self._grammars[0][1]

    def _confidence_now(self) -> Confidence:
        """Less sure of what follows talk without a proper pause."""
        if self._row - self._talk_ended >= hearing.AMID_TALK:
            return self.confidence
        offset = self.confidence.offset - hearing.AMID_TALK_DOUBT
        return replace(self.confidence, offset=offset)

    def _told(self, heard: hearing.Heard) -> list[Heard | NotUnderstood]:
        """The event of an utterance that is over."""
        assert self._utterance is not None
        grammar = self._utterance.grammar.grammar
        if heard.was_talk:
            self._talk_ended = self._first_row + heard.last
        self._utterance = None
        self._before = self._before[:0]  # its sounds do not belong to the next one
        if self._watch is not None:
            self._watch(heard)
        if heard.last - heard.first < 1 and heard.verdict is not Verdict.ACCEPTED:
            return []  # a click: nothing was said
        text = heard.judgement.text if heard.judgement else ""
        certainty = heard.judgement.certainty if heard.judgement else 0.0
        late = self._lag.late
        times = (self._time(heard.first - late), self._time(heard.last + 1 - late))
        if heard.verdict is Verdict.ACCEPTED:
            return [Heard(text, certainty, grammar.serial, *times, self.name)]
        why = heard.verdict.value
        return [NotUnderstood(why, text, certainty, grammar.serial, *times, self.name)]

    def _time(self, row: int) -> float:
        """Session time (s) at which a row of this utterance begins."""
        return self._began_at + (self._first_row + row) * STEP_SECONDS


def open_built_in(folder: Path | None = None) -> BuiltInEar:
    """Open the built-in model, or that in `folder`.  Raises ModelProblem with one sentence."""
    there = folder or model_folder()
    try:
        confidence = Confidence.read(there / "confidence.json")
        return BuiltInEar(AcousticModel(there), confidence, Lag.read(there))
    except ImportError as problem:
        raise ModelProblem(
            f"The built-in ear needs onnxruntime ({problem}): pip install onnxruntime. "
            "Until then answers can be typed, with --ear keys."
        ) from problem
    except Exception as problem:  # the runtime has exceptions of its own for a broken model
        raise ModelProblem(
            f"The built-in ear's model in {there} cannot be used ({problem}); "
            "install callout again, or choose another ear with --ear."
        ) from problem
