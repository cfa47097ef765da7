"""One clip on disk: a digest, then a WAV file.

Rule of this file: what does not match its digest does not exist. A file is
written beside its place and moved there in one step, so that other processes
see a whole clip or none.
"""

from __future__ import annotations

import hashlib
import io
import os
import tempfile
import wave
from pathlib import Path

import numpy as np

from callout.audio_block import AudioBlock, Samples

_DIGEST = 32  # bytes of SHA-256 before the WAV


def key(identity: str, rate: int, shaping: str, sentence: str) -> str:
    """File name (hex) of a sentence said by a voice at a rate (Hz) with this shaping."""
    return hashlib.sha256("\n".join((identity, str(rate), shaping, sentence)).encode()).hexdigest()


def encoded(block: AudioBlock) -> bytes:
    """16-bit WAV with its digest before it."""
    buffer = io.BytesIO()
    with wave.open(buffer, "wb") as wav:
        wav.setparams((1, 2, block.rate, 0, "NONE", ""))
        wav.writeframes(pcm16(block.samples).tobytes())
    body = buffer.getvalue()
    return hashlib.sha256(body).digest() + body


def decoded(content: bytes) -> AudioBlock | None:
    """The clip, or None when the content is not whole."""
    body = content[_DIGEST:]
    if hashlib.sha256(body).digest() != content[:_DIGEST]:
        return None
    with wave.open(io.BytesIO(body), "rb") as wav:
        raw = wav.readframes(wav.getnframes())
        rate = wav.getframerate()
    return AudioBlock(from_pcm16(np.frombuffer(raw, "<i2")), rate)


def pcm16(samples: np.ndarray) -> np.ndarray:
    """Float samples -1 .. 1 as little-endian 16-bit, beyond full scale held at it."""
    return np.clip(np.round(samples * 32768), -32768, 32767).astype("<i2")


def from_pcm16(samples: np.ndarray) -> Samples:
    """16-bit samples as float, -1 .. 1; `pcm16` gives the same 16 bits back."""
    return samples.astype(np.float32) / np.float32(32768)


def read(path: Path) -> AudioBlock | None:
    """The clip in this file, or None when there is none or it is not whole."""
    try:
        content = path.read_bytes()
    except OSError:
        return None
    return decoded(content)


def write(path: Path, content: bytes) -> None:
    """Put content at path in one step.  Raises OSError (disk full, folder not writable)."""
    path.parent.mkdir(parents=True, exist_ok=True)
    handle, beside = tempfile.mkstemp(prefix=".", suffix=".part", dir=path.parent)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
        os.replace(beside, path)
    except OSError:
        Path(beside).unlink(missing_ok=True)
        raise
