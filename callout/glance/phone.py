"""A phone as microphone and earpiece: its stream, and what is on its way.

Rule of this file: one phone at a time. Sound that comes late, but within half a second,
is taken as if it had come at once; what is later is dropped, and the phone is called
lost until its sound is of this moment again.
"""

from __future__ import annotations

import asyncio
import queue
import struct
from collections.abc import Callable, Iterator
from contextlib import suppress

import numpy as np
from starlette.websockets import WebSocket, WebSocketDisconnect

from callout.audio_block import AudioBlock, Samples
from callout.glance.jitter import FRAME, Jitter
from callout.glance.meter import Bucket
from callout.glance.pairing import Screen
from callout.glance.site import race

RATE = 16_000
FRAME_SAMPLES = round(FRAME * RATE)
FRAME_BYTES = 4 + 2 * FRAME_SAMPLES

REACH = 0.5
"""Seconds of radio loss that heal by themselves."""

PRESENT = 0.3
"""Sound that comes so late (s) after a loss is not of this moment."""

BEAT = 0.1
"""Seconds between signs of life to the phone."""

PIECE = 1024
"""Samples in a piece of a clip."""

FRAMES, FRAMES_AT_ONCE = 100.0, 300.0
"""Frames of sound, a second and at once: sound itself has 50."""

WAITING = 512
"""Blocks that may wait for the ear."""

SOUND, END, CUT, KEPT, SIGN = range(1, 6)
"""What goes to the phone (sound-worklet.js has the same)."""

ANOTHER = 4003
"""Why a stream is closed: another phone is in use."""


class Phone:
    """The phone of a session.

    Args:
        now: tells session time (s)
        lost: told, in a sentence, when it was not heard for REACH seconds
        restored: told when it is heard again

    Fields:
        came: how many times a phone began to be heard
    """

    def __init__(
        self,
        now: Callable[[], float],
        lost: Callable[[str], None],
        restored: Callable[[], None],
    ) -> None:
        self._now = now
        self._lost = lost
        self._restored = restored
        self._blocks: queue.Queue[AudioBlock] = queue.Queue(WAITING)
        self._kept = b""
        self._loop: asyncio.AbstractEventLoop | None = None
        self._out: asyncio.Queue[bytes] = asyncio.Queue()
        self._carried: tuple[Screen, WebSocket] | None = None
        self._jitter: tuple[tuple[bytes, bytes], Jitter] | None = None
        self._heard_at: float | None = None
        self.there = False
        self.came = 0

    def serve_on(self, loop: asyncio.AbstractEventLoop) -> None:
        """What is to be heard goes out on this loop."""
        self._loop = loop

    def keep(self, samples: Samples) -> None:
        """What the phone says by itself when callout is out of its reach."""
        self._kept = _bytes(samples)

    def play(self, samples: Samples) -> None:
        """Let it be heard behind what is being heard; from any thread."""
        if not self.there:
            return
        data = _bytes(samples)
        pieces = [data[at : at + 2 * PIECE] for at in range(0, len(data), 2 * PIECE)]
        self._send(*(_packet(SOUND, piece) for piece in pieces), _packet(END))

    def cut(self) -> None:
        """Let it be silent; from any thread."""
        self._send(_packet(CUT))

    def blocks(self, wait: float = 0.2) -> Iterator[AudioBlock | None]:
        """Its sound as it comes, for ever; None where none came for a while."""
        while True:
            try:
                yield self._blocks.get(timeout=wait)
            except queue.Empty:
                yield None

    async def carry(self, socket: WebSocket, screen: Screen, known: Callable[[], bool]) -> None:
        """Until the phone is gone, comes anew, or is not `known` any more."""
        before = self._carried
        if before is not None and before[0].key != screen.key and self.there:
            await socket.close(ANOTHER)
            return
        self._carried = (screen, socket)
        self._out = asyncio.Queue()
        if before is not None:
            with suppress(RuntimeError, WebSocketDisconnect):
                await before[1].close(1001)
        try:
            await race(self._speak(socket), self._hear(socket, screen), self._watch(socket, known))
        finally:
            if self._carried == (screen, socket):
                self._carried = None
                await self._until_lost(socket)

    async def _speak(self, socket: WebSocket) -> None:
        kept = b""
        while True:
            if kept != self._kept:
                kept = self._kept
                for at in range(0, len(kept), 2 * PIECE):
                    await socket.send_bytes(_packet(KEPT, kept[at : at + 2 * PIECE]))
            try:
                async with asyncio.timeout(BEAT):
                    packet = await self._out.get()
            except TimeoutError:
                packet = _packet(SIGN)
            await socket.send_bytes(packet)

    async def _hear(self, socket: WebSocket, screen: Screen) -> None:
        bucket = Bucket(FRAMES, FRAMES_AT_ONCE, self._now())
        of = (screen.key, socket.scope["query_string"])  # a page that is loaded anew counts anew
        if self._jitter is None or self._jitter[0] != of:
            self._jitter = (of, Jitter())
        with suppress(WebSocketDisconnect):
            while True:
                message = await socket.receive()
                frame = message.get("bytes")
                if message["type"] != "websocket.receive":
                    return
                if not isinstance(frame, bytes) or len(frame) != FRAME_BYTES:
                    await socket.close(1003)
                    return
                if not bucket.takes(self._now()):
                    await socket.close(1008)
                    return
                self._take(frame)

    def _take(self, frame: bytes) -> None:
        """One frame: of this moment, or late, or too late."""
        assert self._jitter is not None
        self._look()  # this machine itself may have stood still
        (number,) = struct.unpack_from("<I", frame)
        now = self._now()
        placed = self._jitter[1].take(number, now)
        if placed is None:
            return
        began, late = placed
        if not self.there and late > PRESENT:
            return
        self._heard_at = now
        if not self.there:
            self.there = True
            self.came += 1
            if self.came > 1:
                self._restored()
        samples = np.frombuffer(frame, "<i2", offset=4).astype(np.float32) / np.float32(32768)
        with suppress(queue.Full):  # an ear that stands still
            self._blocks.put_nowait(AudioBlock(samples, RATE, began))

    async def _watch(self, socket: WebSocket, known: Callable[[], bool]) -> None:
        """Until it is the latest no more, or not known."""
        while self._carried is not None and self._carried[1] is socket and known():
            self._look()
            await asyncio.sleep(REACH / 10)

    async def _until_lost(self, socket: WebSocket) -> None:
        """The stream is gone: another one has half a second to come."""
        while self.there and self._carried is None:
            self._look()
            await asyncio.sleep(REACH / 10)

    def _look(self) -> None:
        if not self.there or self._heard_at is None or self._now() - self._heard_at <= REACH:
            return
        self.there = False
        self._out = asyncio.Queue()
        while not self._blocks.empty():  # it would answer what was asked long ago
            with suppress(queue.Empty):
                self._blocks.get_nowait()
        self._lost("The phone has not been heard for half a second: no radio, or it was locked.")

    def _send(self, *packets: bytes) -> None:
        if self._loop is None:
            return
        with suppress(RuntimeError):  # the server has ended
            self._loop.call_soon_threadsafe(self._put, packets)

    def _put(self, packets: tuple[bytes, ...]) -> None:
        for packet in packets:
            self._out.put_nowait(packet)


def _packet(kind: int, data: bytes = b"") -> bytes:
    return bytes((kind, 0, 0, 0)) + data


def _bytes(samples: Samples) -> bytes:
    return (np.clip(samples, -1.0, 1.0) * 32767).astype("<i2").tobytes()
