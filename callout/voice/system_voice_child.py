"""The child process of system_voice.py: sentences in, sound files out.

Rule of this file: one JSON line in, one JSON line out; first of all it says
which voice it is. Whatever libraries print goes nowhere.

Usage: python -m callout.voice.system_voice_child WORDS WORDS_A_MINUTE
"""

from __future__ import annotations

import json
import os
import re
import sys
import threading
import time
from importlib import metadata
from pathlib import Path
from typing import Any, TextIO

_WAV_HEADER = 44  # bytes; a file as small holds no sound
_STILL = 0.5  # s without growth, after which a file counts as whole


def main(words: str, words_a_minute: int) -> None:
    """Answer until standard input ends."""
    answers = os.fdopen(os.dup(sys.stdout.fileno()), "w", encoding="utf-8")
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    try:
        engine, voice = _engine(words, words_a_minute)
        _tell(answers, {"voice": f"pyttsx3 {metadata.version('pyttsx3')} {sys.platform} {voice}"})
        for line in sys.stdin:
            question = json.loads(line)
            _save(engine, question["sentence"], Path(question["path"]))
            _tell(answers, {"done": True})
    except ImportError as error:
        _tell(answers, {"wrong": f"{error} (pip install pyttsx3)"})
    except Exception as error:
        _tell(answers, {"wrong": str(error) or type(error).__name__})


def _engine(words: str, words_a_minute: int) -> tuple[Any, str]:
    """The engine, set up, and the id of the voice it speaks with."""
    import pyttsx3

    engine = pyttsx3.init()
    voice = _voice(engine.getProperty("voices"), words, str(engine.getProperty("voice")))
    if voice is not None:
        engine.setProperty("voice", voice)
    elif words:
        raise LookupError(f'the system has no voice with "{words}" in its name')
    engine.setProperty("rate", words_a_minute)
    return engine, voice or str(engine.getProperty("voice"))


def _save(engine: Any, sentence: str, path: Path) -> None:  # noqa: ANN401 - no types
    """Return when the file is whole, which is later than pyttsx3's run loop does on Linux."""
    finished = threading.Event()
    token = engine.connect("finished-utterance", lambda **_: finished.set())
    engine.save_to_file(sentence, str(path))
    engine.runAndWait()
    before, since = -1, time.monotonic()
    while not finished.wait(0.01):  # not every system's driver tells that it has finished
        size = path.stat().st_size if path.exists() else 0
        if size != before:
            before, since = size, time.monotonic()
        if size > _WAV_HEADER and time.monotonic() - since > _STILL:
            break
    engine.disconnect(token)


def _voice(voices: list[Any], words: str, own: str) -> str | None:
    """Id of the first voice with these words in its name or id.

    For "": the system's own voice if it speaks English, else the first that does.
    """
    if words:
        fitting = [v for v in voices if words.lower() in f"{v.name} {v.id}".lower()]
    else:
        fitting = sorted(filter(_speaks_english, voices), key=lambda voice: voice.id != own)
    return str(fitting[0].id) if fitting else None


def _speaks_english(voice: Any) -> bool:  # noqa: ANN401 - the library has no types
    """By language tag ("en", "en-us", "en_GB") or by name ("Voice such-and-such - English")."""
    tags = [str(tag) for tag in voice.languages or ()] + [str(voice.id)]
    named = re.search(r"(^|- )english", str(voice.name), re.IGNORECASE)
    return bool(named) or any(re.search(r"(^|[/.])en([-_]|$)", tag.lower()) for tag in tags)


def _tell(answers: TextIO, what: dict[str, Any]) -> None:
    answers.write(json.dumps(what) + "\n")
    answers.flush()


if __name__ == "__main__":
    main(sys.argv[1], int(sys.argv[2]))
