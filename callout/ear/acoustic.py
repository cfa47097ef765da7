"""The built-in model behind one face: samples in, log-probabilities of phones out.

Rule of this file: it knows features and the network, no grammar and no words.
onnxruntime is imported when a model is opened.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from callout.ear.mel import COLUMNS, MelStream

ROWS_PER_STEP = 4
"""Rows of features (10 ms each) that make one step of the network."""
STEP_SECONDS = 0.04
"""Time from one row of log-probabilities to the next (s)."""


class AcousticModel:
    """The network, opened once; streams are made from it.

    Fields:
        outputs: names of the columns: "" for the blank, then the phones
        look_ahead: steps of sound that the network must hear after a step
            before it says what that step was
    """

    def __init__(self, folder: Path) -> None:
        """Open `ear.onnx` and `ear.json` in `folder`; one thread."""
        import onnxruntime

        about = json.loads((folder / "ear.json").read_text(encoding="utf-8"))
        self.outputs: tuple[str, ...] = tuple(about["outputs"])
        self.look_ahead = int(about["look_ahead"])
        self.state_size = int(about["state_size"])
        options = onnxruntime.SessionOptions()
        options.intra_op_num_threads = 1
        options.inter_op_num_threads = 1
        options.log_severity_level = 3
        self._session: Any = onnxruntime.InferenceSession(
            str(folder / "ear.onnx"), options, providers=["CPUExecutionProvider"]
        )

    def run(
        self, rows: NDArray[np.float32], state: NDArray[np.float32]
    ) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
        """Run 4 n rows of features ([4 n, 96]) on from `state` ([1, S]); n rows out, next state."""
        logp, after = self._session.run(None, {"mel": rows.T[None], "state": state})
        return logp[0], after

    def stream(self) -> PosteriorStream:
        """Start listening from nothing."""
        return PosteriorStream(self)


class PosteriorStream:
    """One stream of sound through the model."""

    def __init__(self, model: AcousticModel) -> None:
        self._model = model
        self._mel = MelStream()
        self.reset()

    def reset(self) -> None:
        """Forget all that was heard; the next sample is sample 0."""
        self._mel.reset()
        self._rows = np.zeros((0, COLUMNS), np.float32)
        self._state = np.zeros((1, self._model.state_size), np.float32)
        self._to_drop = self._model.look_ahead

    def push(self, samples: NDArray[np.float32]) -> NDArray[np.float32]:
        """Take samples (float32 [n], 16 kHz); return the new rows of log-probabilities.

        Row k since the last reset, float32 [len(outputs)], tells of the sound
        from 0.04 k to 0.04 (k + 1) s; it comes look_ahead steps later.
        """
        self._rows = np.concatenate([self._rows, self._mel.push(samples)])
        usable = len(self._rows) // ROWS_PER_STEP * ROWS_PER_STEP
        if usable == 0:
            return np.zeros((0, len(self._model.outputs)), np.float32)
        logp, self._state = self._model.run(self._rows[:usable], self._state)
        self._rows = self._rows[usable:]
        early = min(self._to_drop, len(logp))
        self._to_drop -= early
        return logp[early:]

    def finish(self) -> NDArray[np.float32]:
        """Return the rows still held back, by hearing silence for the look-ahead; then reset."""
        silence = np.zeros(int((self._model.look_ahead + 1) * STEP_SECONDS * 16_000), np.float32)
        rest = self.push(silence)
        self.reset()
        return rest
