"""A page's end of a web socket, for tests that wait for one message after another.

Rule of this file: all that one connection reads and writes goes through one event loop on one
thread. An `ssl.SSLSocket` that one thread reads while another writes, as the library's own
blocking client does, ends CPython 3.11 in a segmentation fault once in a few thousand tests.
"""

from __future__ import annotations

import asyncio
import ssl
import threading
from collections.abc import Coroutine
from functools import cache
from typing import Any

from websockets.asyncio.client import ClientConnection, connect

LONG = 60.0
"""Seconds for which something is waited for that surely comes: a busy machine may take long."""

TRUSTING = ssl.create_default_context()
TRUSTING.check_hostname = False
TRUSTING.verify_mode = ssl.CERT_NONE


@cache
def _loop() -> asyncio.AbstractEventLoop:
    """The loop of all connections; it ends with the process."""
    loop = asyncio.new_event_loop()
    threading.Thread(target=loop.run_forever, name="pages of the tests", daemon=True).start()
    return loop


def _done(work: Coroutine[Any, Any, Any], within: float | None = LONG) -> Any:
    return asyncio.run_coroutine_threadsafe(asyncio.wait_for(work, within), _loop()).result()


class PageStream:
    """One open connection. Raises what websockets' own client does, at open, send and receive."""

    def __init__(self, address: str, *, origin: str, headers: dict[str, str]) -> None:
        self._open: ClientConnection = _done(self._connected(address, origin, headers))

    @staticmethod
    async def _connected(address: str, origin: str, headers: dict[str, str]) -> ClientConnection:
        return await connect(
            address, ssl=TRUSTING, origin=origin, additional_headers=headers, max_size=None,
            max_queue=None, open_timeout=LONG, close_timeout=LONG, proxy=None,
        )  # fmt: skip

    def send(self, message: str | bytes) -> None:
        _done(self._open.send(message))

    def recv(self, timeout: float = LONG) -> str | bytes:
        """The next message; TimeoutError where none came in time (s)."""
        return _done(self._open.recv(), timeout)

    def is_answered(self, timeout: float = LONG) -> bool:
        """Whether the other end answers a ping (RFC 6455 5.5.2)."""
        _done(self._pinged(), timeout)
        return True

    async def _pinged(self) -> None:
        await (await self._open.ping())

    def close(self) -> None:
        _done(self._open.close())

    def __enter__(self) -> PageStream:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()
