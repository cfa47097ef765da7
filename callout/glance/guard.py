"""Every request passes here first: who asks, under which name, from which page, how often.

Rule of this file: what is not allowed is refused before the site sees it. Nothing of a
session is ever sent to a screen that was not let in.
"""

from __future__ import annotations

import time
from collections.abc import Awaitable, Callable, MutableMapping
from http.cookies import CookieError, SimpleCookie
from typing import Any

from callout.glance.address import is_local
from callout.glance.meter import Meter
from callout.glance.pairing import Pairing, Screen

Scope = MutableMapping[str, Any]
Message = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[Message]]
Send = Callable[[Message], Awaitable[None]]
App = Callable[[Scope, Receive, Send], Awaitable[None]]

COOKIE = "__Host-callout"

OPEN = frozenset({"/pair", "/pair.js", "/glance.css"})
"""What a screen gets before it is let in: nothing in it is of a session."""

ASKED_RATE, ASKED_BURST = 10.0, 60.0
"""Requests a second from one address, and at once."""

PAIRING_RATE, PAIRING_BURST = 0.2, 5.0
"""Tries to be let in, a second and at once."""

Refusal = tuple[int, str]


def secret_of(headers: dict[str, str]) -> str:
    """The screen's secret; "" if it has none."""
    try:
        found = SimpleCookie(headers.get("cookie", "")).get(COOKIE)
    except CookieError:
        return ""
    return found.value if found is not None else ""


class Guard:
    """Lets through what is allowed, to `app`.

    Args:
        named: host and port as a page's address has them
        now: seconds of a clock that never goes back
    """

    def __init__(
        self, app: App, named: str, pairing: Pairing, now: Callable[[], float] = time.monotonic
    ) -> None:
        self._app = app
        self._named = named
        self._origin = f"https://{named}"
        self._pairing = pairing
        self._now = now
        self._asked = Meter(ASKED_RATE, ASKED_BURST)
        self._tried = Meter(PAIRING_RATE, PAIRING_BURST)
        self._headers = _headers(named)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """One request."""
        if scope["type"] == "lifespan":
            await self._app(scope, receive, send)
            return
        headers = {
            name.decode("latin-1"): value.decode("latin-1") for name, value in scope["headers"]
        }
        refusal = self._refusal(scope, headers)
        if refusal is None:
            screen = self._pairing.screen(secret_of(headers))
            refusal = self._unknown(scope, screen)
            scope["screen"] = screen
        if scope["type"] == "websocket":
            await self._socket(scope, receive, send, refusal)
        else:
            await self._answer(scope, receive, send, refusal)

    def _refusal(self, scope: Scope, headers: dict[str, str]) -> Refusal | None:
        """Why this is refused whoever asks."""
        peer = str((scope.get("client") or ("", 0))[0])
        if not is_local(peer):
            return 403, "Only the local network is served."
        if not self._asked.takes(peer, self._now()):
            return 429, "Too many requests."
        if headers.get("host", "") != self._named:
            return 421, "This page has another name."
        origin = headers.get("origin")
        socket = scope["type"] == "websocket"
        changes = socket or scope["method"] not in ("GET", "HEAD")
        if origin not in ((self._origin,) if changes else (None, self._origin)):
            return 403, "Another page may not ask."
        if changes and headers.get("sec-fetch-site", "same-origin") != "same-origin":
            return 403, "Another page may not ask."
        if not socket and scope["method"] == "POST" and not self._tried.takes(peer, self._now()):
            return 429, "Too many tries. Wait a minute."
        return None

    def _unknown(self, scope: Scope, screen: Screen | None) -> Refusal | None:
        """Why this is refused to a screen that was not let in."""
        if screen is not None or (scope["type"] == "http" and scope["path"] in OPEN):
            return None
        return 401, "This screen is not paired. Scan the code that callout shows."

    async def _socket(
        self, scope: Scope, receive: Receive, send: Send, refusal: Refusal | None
    ) -> None:
        if refusal is None:
            await self._app(scope, receive, send)
            return
        await receive()
        await send({"type": "websocket.close", "code": 1008, "reason": refusal[1]})

    async def _answer(
        self, scope: Scope, receive: Receive, send: Send, refusal: Refusal | None
    ) -> None:
        async def with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                message["headers"] = [*message.get("headers", ()), *self._headers]
            await send(message)

        if refusal is None:
            await self._app(scope, receive, with_headers)
            return
        status, why = refusal
        if status == 401 and scope["path"] == "/":
            status, why = 303, ""
        start: Message = {"type": "http.response.start", "status": status, "headers": []}
        start["headers"] = [(b"content-type", b"text/plain; charset=utf-8")]
        if status == 303:
            start["headers"].append((b"location", b"/pair"))
        await with_headers(start)
        await send({"type": "http.response.body", "body": why.encode()})


def _headers(named: str) -> list[tuple[bytes, bytes]]:
    """On every answer; each connection carries one, so that none can be kept open by drops."""
    policy = (
        f"default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; "
        f"connect-src 'self' wss://{named}; worker-src 'self'; base-uri 'none'; "
        "form-action 'none'; frame-ancestors 'none'; require-trusted-types-for 'script'; "
        "trusted-types 'none'"
    )
    texts = {
        "content-security-policy": policy,
        "x-content-type-options": "nosniff",
        "x-frame-options": "DENY",
        "referrer-policy": "no-referrer",
        "cross-origin-opener-policy": "same-origin",
        "cross-origin-resource-policy": "same-origin",
        "permissions-policy": "microphone=(self), screen-wake-lock=(self), camera=(), "
        "geolocation=()",
        "cache-control": "no-store",
        "connection": "close",
    }
    return [(name.encode(), value.encode()) for name, value in texts.items()]
