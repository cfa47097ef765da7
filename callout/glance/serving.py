"""The server: uvicorn on a thread of its own, strict about time and size.

Rule of this file: it starts and stops. A connection that does not say in time what it
wants is closed; nothing that goes wrong in it reaches the session.
"""

from __future__ import annotations

import asyncio
import threading
from collections.abc import Callable
from contextlib import suppress
from ssl import SSLContext
from typing import Any

import uvicorn
from uvicorn.protocols.http.h11_impl import H11Protocol
from uvicorn.protocols.websockets.websockets_sansio_impl import WebSocketsSansIOProtocol
from websockets.exceptions import InvalidState

from callout.glance.gate import Gate
from callout.glance.guard import App

SAYING = 5.0
"""Seconds in which a connection has to agree on secrecy, and again to ask for something."""

LARGEST_HEAD = 8 * 1024
LARGEST_MESSAGE = 4 * 1024
"""Bytes; a frame of sound has 644."""

PIECE = 1024
"""Bytes looked at together: h11 weighs only a head that is not whole yet, and a busy machine
reads a large one whole."""

PING = 5.0
"""Seconds between looks whether a screen is still there."""

STARTING = 10.0

PARTING = 2.0
"""Seconds in which connections that were cut off are closed, at the most."""


class _PromptLoop(asyncio.SelectorEventLoop):
    """Closes who is slow to agree on secrecy, and keeps quiet about it."""

    def __init__(self) -> None:
        super().__init__()
        self.set_exception_handler(lambda loop, context: None)

    async def create_server(self, *args: Any, **wanted: Any) -> Any:  # noqa: ANN401
        if wanted.get("ssl") is not None:
            wanted["ssl_handshake_timeout"] = SAYING
            wanted["ssl_shutdown_timeout"] = SAYING
        return await super().create_server(*args, **wanted)


class _PromptProtocol(H11Protocol):
    """Closes who is slow to ask, or asks at length."""

    patience = SAYING

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        super().connection_made(transport)
        self._late = self.loop.call_later(self.patience, self._give_up)

    def connection_lost(self, exc: Exception | None) -> None:
        self._late.cancel()
        super().connection_lost(exc)

    def data_received(self, data: bytes) -> None:
        for start in range(0, len(data), PIECE):
            super().data_received(data[start : start + PIECE])
            if self.transport.is_closing() or self.transport.get_protocol() is not self:
                return

    def _give_up(self) -> None:
        """Nothing was asked for yet; one that became a stream speaks by another protocol."""
        if self.cycle is None and self.transport.get_protocol() is self:
            self.transport.abort()


class _PromptStream(WebSocketsSansIOProtocol):
    """Ends with the server, also one whose page is just saying farewell."""

    def shutdown(self) -> None:
        try:
            super().shutdown()
        except InvalidState:  # it would be told to close a second time
            self.transport.close()


class Serving(threading.Thread):
    """Serves an application through a gate until stopped.

    Args:
        began: told the server's loop, on its thread, before anything is served
        patience: seconds in which a connection has to ask for something
    """

    def __init__(
        self,
        app: App,
        gate: Gate,
        context: SSLContext,
        began: Callable[[asyncio.AbstractEventLoop], None],
        patience: float = SAYING,
    ) -> None:
        super().__init__(name="glance", daemon=True)
        self.gate = gate
        self._began = began
        config = uvicorn.Config(
            app,
            http=type("_Prompt", (_PromptProtocol,), {"patience": patience}),
            ws=_PromptStream,
            ws_max_size=LARGEST_MESSAGE,
            ws_per_message_deflate=False,
            ws_ping_interval=PING,
            ws_ping_timeout=PING,
            h11_max_incomplete_event_size=LARGEST_HEAD,
            timeout_graceful_shutdown=1,
            proxy_headers=False,
            server_header=False,
            access_log=False,
            log_config=None,
            log_level="critical",
            lifespan="off",
        )
        config.load()
        config.ssl = context
        self._server = uvicorn.Server(config)

    def run(self) -> None:
        """Until stopped."""
        with asyncio.Runner(loop_factory=_PromptLoop) as runner:
            runner.run(self._serve())

    async def _serve(self) -> None:
        self.loop = asyncio.get_running_loop()
        self._began(self.loop)
        await self._server.serve(sockets=[self.gate])
        await self._part()

    async def _part(self) -> None:
        """Who is slow to say farewell is cut off, so that nothing is left open behind the loop."""
        for one in self.connections():
            with suppress(AttributeError):  # up to 3.11.2 one that is closed twice cannot abort
                one.abort()
        self.gate.cut()  # one that is closing already does not listen to abort()
        with suppress(TimeoutError):
            async with asyncio.timeout(PARTING):
                while any(self.gate.let_in()):
                    await asyncio.sleep(0.01)

    def connections(self) -> list[asyncio.Transport]:
        """Those that are open."""
        return [one.transport for one in list(self._server.server_state.connections)]

    def stop(self) -> None:
        """Close every connection; returns when the address is free."""
        self._server.should_exit = True
        if self.is_alive():
            self.join(STARTING)
        self.gate.close()
