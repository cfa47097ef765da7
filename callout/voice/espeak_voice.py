"""The voice of eSpeak NG, in this process, from the library that espeakng-loader carries.

Rule of this file: the C library is one global machine, so everything that
touches it happens under one lock and sets voice and rate anew each time.

eSpeak NG is GPL-3.0-or-later. Our own source stays Apache-2.0, but whoever
passes on a bundle of callout together with this library passes on a work under
the GPL; that is why espeakng-loader is an extra and never needed.
Constants and signatures are those of eSpeak NG's public header speak_lib.h.
"""

from __future__ import annotations

import ctypes
import threading
from pathlib import Path

import numpy as np

from callout.audio_block import AudioBlock
from callout.voice.protocol import VoiceLost

_INSTALL = "install it with: pip install espeakng-loader"

_SYNCHRONOUS = 2  # AUDIO_OUTPUT_SYNCHRONOUS: espeak_Synth returns when all is made
_DONT_EXIT = 0x8000  # espeakINITIALIZE_DONT_EXIT: report a missing data folder, do not exit()
_BUFFER_MS = 200
_CHARS_UTF8 = 1
_RATE = 1  # espeakRATE, words a minute
_OK = 0

_Callback = ctypes.CFUNCTYPE(
    ctypes.c_int, ctypes.POINTER(ctypes.c_short), ctypes.c_int, ctypes.c_void_p
)


class _Library:
    """The loaded C library; made at most once in a process for each path."""

    def __init__(self, library: str, data: str) -> None:
        try:
            self._c = ctypes.CDLL(library)
        except OSError as error:
            raise VoiceLost(
                f"The voice espeak cannot load its library: {error}; {_INSTALL}"
            ) from error
        self._chunks: list[bytes] = []
        self._callback = _Callback(self._collect)  # kept: C calls it as long as the library lives
        if not Path(data).is_dir():
            raise VoiceLost(f"The voice espeak has no data folder {data}; {_INSTALL}")
        self.rate = self._c.espeak_Initialize(_SYNCHRONOUS, _BUFFER_MS, data.encode(), _DONT_EXIT)
        if self.rate <= 0:
            raise VoiceLost(f"The voice espeak does not accept its data folder {data}; {_INSTALL}")
        self._c.espeak_SetSynthCallback(self._callback)
        self._c.espeak_Synth.argtypes = [
            ctypes.c_char_p, ctypes.c_size_t, ctypes.c_uint, ctypes.c_int, ctypes.c_uint,
            ctypes.c_uint, ctypes.c_void_p, ctypes.c_void_p,
        ]  # fmt: skip

    def _collect(self, samples: ctypes._Pointer[ctypes.c_short], count: int, _: int) -> int:
        if samples and count > 0:
            self._chunks.append(ctypes.string_at(samples, count * 2))
        return 0

    def say(self, sentence: str, voice: str, words_a_minute: int) -> bytes:
        """16-bit mono samples.  Raises VoiceLost when a step is refused."""
        self._chunks.clear()
        text = sentence.encode()
        for what, status in (
            (f'voice "{voice}"', self._c.espeak_SetVoiceByName(voice.encode())),
            (f"rate {words_a_minute}", self._c.espeak_SetParameter(_RATE, words_a_minute, 0)),
            (
                f'sentence "{sentence}"',
                self._c.espeak_Synth(text, len(text) + 1, 0, 1, 0, _CHARS_UTF8, None, None),
            ),
        ):
            if status != _OK:
                raise VoiceLost(f"The voice espeak refused the {what} (status {status})")
        return b"".join(self._chunks)


_lock = threading.Lock()
_libraries: dict[tuple[str, str], _Library] = {}


class EspeakVoice:
    """eSpeak NG; safe to call from several threads (one sentence at a time in the process).

    It says the same sentence a little differently each time (its library keeps
    a state that no call sets back), so only a kept clip gives the same samples twice.

    Args:
        voice: an eSpeak NG voice name
        words_a_minute: 80 .. 450
        library, data: paths of libespeak-ng and its data folder ("" for espeakng-loader's)

    Raises VoiceLost when espeakng-loader is needed and not installed.
    """

    name = "espeak"

    def __init__(
        self, voice: str = "en-us", words_a_minute: int = 150, library: str = "", data: str = ""
    ) -> None:
        self._paths = (library, data) if library and data else _loader_paths()
        self._voice = voice
        self._words_a_minute = words_a_minute
        self.identity = f"espeak {Path(self._paths[0]).resolve().name} {voice} {words_a_minute} wpm"

    def synthesise(self, sentence: str) -> AudioBlock:
        """The sentence as sound, mono, 22.05 kHz.  Raises VoiceLost."""
        with _lock:
            library = _libraries.get(self._paths)
            if library is None:
                library = _libraries[self._paths] = _Library(*self._paths)
            raw = library.say(sentence, self._voice, self._words_a_minute)
        samples = np.frombuffer(raw, np.int16)
        if not samples.any():
            raise VoiceLost(f'The voice espeak finds nothing to say in "{sentence}"')
        return AudioBlock(samples.astype(np.float32) / np.float32(32768), library.rate)


def _loader_paths() -> tuple[str, str]:
    try:
        import espeakng_loader
    except ImportError:
        raise VoiceLost(f"The voice espeak is not installed; {_INSTALL}") from None
    try:
        return espeakng_loader.get_library_path(), espeakng_loader.get_data_path()
    except RuntimeError as error:
        raise VoiceLost(
            f"The voice espeak is installed incompletely ({error}); {_INSTALL}"
        ) from None
