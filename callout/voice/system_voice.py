"""The voices of the operating system, through pyttsx3, in a process of their own.

Rule of this file: nothing of pyttsx3 runs in our process. Its run loop can hang
for ever, on macOS it wants the main thread, it prints, and on Linux it would
load a second libespeak-ng beside ours; a child process can be timed and ended.
"""

from __future__ import annotations

import json
import queue
import subprocess
import sys
import tempfile
import threading
from collections.abc import Sequence
from contextlib import suppress
from pathlib import Path
from typing import Any, TextIO

from callout.audio_block import AudioBlock
from callout.voice.protocol import VoiceLost

_LINUX = "on Debian: sudo apt install espeak-ng"
_CHILD = (sys.executable, "-m", "callout.voice.system_voice_child")


class SystemVoice:
    """The system's voice, or the first English one; safe to call from several threads.

    Args:
        words: part of a voice's name or id, such as "english" ("" for the system's own)
        words_a_minute: speaking rate
        timeout: seconds a sentence may take before the voice counts as lost
        child: command of the child process (a seam: a test gives one that hangs)

    Raises VoiceLost when pyttsx3 is missing or the system has no voice.
    """

    name = "system"

    def __init__(
        self,
        words: str = "",
        words_a_minute: int = 150,
        timeout: float = 20.0,
        child: Sequence[str] = _CHILD,
    ) -> None:
        self._command = [*child, words, str(words_a_minute)]
        self._timeout = timeout
        self._lock = threading.Lock()
        self._process: subprocess.Popen[str] | None = None
        self._answers: queue.SimpleQueue[str] = queue.SimpleQueue()
        with self._lock:
            self.identity = f"system {self._start()} {words_a_minute} wpm"

    def synthesise(self, sentence: str) -> AudioBlock:
        """The sentence as sound, mono, at the system's rate.  Raises VoiceLost."""
        with self._lock, tempfile.TemporaryDirectory(prefix="callout-") as folder:
            if self._process is None:
                self._start()
            path = Path(folder) / "sentence.wav"
            self._ask({"sentence": sentence, "path": str(path)})
            return self._sound(path, sentence)

    def close(self) -> None:
        """End the child process."""
        with self._lock:
            self._end()

    def _start(self) -> str:
        """Start the child; returns what it says it is."""
        self._answers = queue.SimpleQueue()
        self._process = subprocess.Popen(
            self._command,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            text=True,
            encoding="utf-8",
        )
        threading.Thread(
            target=_read,
            args=(self._process.stdout, self._answers),
            name="system voice",
            daemon=True,
        ).start()
        return str(self._answer()["voice"])

    def _ask(self, question: dict[str, str]) -> None:
        assert self._process is not None
        assert self._process.stdin is not None
        try:
            self._process.stdin.write(json.dumps(question) + "\n")
            self._process.stdin.flush()
        except OSError as error:
            self._end()
            raise VoiceLost("The system's voice ended by itself") from error
        self._answer()

    def _answer(self) -> dict[str, Any]:
        """The child's next answer.  Raises VoiceLost: too late, ended, or it says what is wrong."""
        try:
            line = self._answers.get(timeout=self._timeout)
        except queue.Empty:
            self._end()
            raise VoiceLost(
                f"The system's voice did not answer within {self._timeout:g} s and was ended"
            ) from None
        if not line:
            self._end()
            raise VoiceLost(f"The system's voice ended by itself; {_LINUX}")
        answer: dict[str, Any] = json.loads(line)
        if "wrong" in answer:
            self._end()
            raise VoiceLost(f"The system's voice cannot speak: {answer['wrong']}; {_LINUX}")
        return answer

    def _end(self) -> None:
        if self._process is None:
            return
        self._process.kill()
        self._process.wait()
        if self._process.stdin is not None:
            with suppress(OSError):  # what was still to be written has no reader any more
                self._process.stdin.close()
        self._process = None

    def _sound(self, path: Path, sentence: str) -> AudioBlock:
        import soundfile

        try:
            samples, rate = soundfile.read(path, dtype="float32", always_2d=True)
        except (OSError, RuntimeError) as error:
            raise VoiceLost(
                f'The system\'s voice made no sound of "{sentence}": {error}'
            ) from error
        if not len(samples):
            raise VoiceLost(f'The system\'s voice finds nothing to say in "{sentence}"')
        return AudioBlock(samples.mean(axis=1), int(rate))


def _read(lines: TextIO | None, answers: queue.SimpleQueue[str]) -> None:
    """Pass the child's lines on; "" when it has ended."""
    assert lines is not None
    with lines:
        for line in lines:
            answers.put(line)
    answers.put("")
