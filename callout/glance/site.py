"""The site: a page to be let in, the page itself, and its two streams.

Rule of this file: files are named one by one, so no path can lead out of them. What a
page sends goes to the session as words with what they answer, and nowhere else.
"""

from __future__ import annotations

import asyncio
import json
from collections.abc import Awaitable, Callable, Mapping
from contextlib import suppress
from importlib.resources import files
from types import MappingProxyType
from typing import Protocol

from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import BaseRoute, Route, WebSocketRoute
from starlette.websockets import WebSocket, WebSocketDisconnect

from callout.checklist.model import Who
from callout.glance.codes import drawn
from callout.glance.guard import COOKIE
from callout.glance.hub import Hub
from callout.glance.messages import Invite, JunkError, Touch, message
from callout.glance.meter import Bucket
from callout.glance.pairing import PAIRED_FOR, Pairing, Screen
from callout.glance.view_ways import may_say

SPACING = 0.03
"""Seconds between two views at least: an eye does not see more."""

BEAT = 1.0
"""Seconds without a change after which a view is sent all the same, so that a page knows
that it is not looking at the past."""

STUCK = 5.0
"""Seconds in which a screen takes a view, or is given up."""

TOUCHES, TOUCHES_AT_ONCE = 8.0, 16.0
"""Messages of one page, a second and at once."""

LONGEST_BODY = 512

KINDS: Mapping[str, str] = MappingProxyType(
    {"html": "text/html", "css": "text/css", "js": "text/javascript", "svg": "image/svg+xml"}
)

FILES: Mapping[str, str] = MappingProxyType(
    {
        "/": "glance.html",
        "/pair": "pair.html",
        "/pair.js": "pair.js",
        "/glance.css": "glance.css",
        "/glance.js": "glance.js",
        "/press.js": "press.js",
        "/sound.js": "sound.js",
        "/sound-worklet.js": "sound-worklet.js",
    }
)
"""Path -> file: all there are."""


class SoundLink(Protocol):
    """What carries a phone's sound."""

    async def carry(self, socket: WebSocket, screen: Screen, known: Callable[[], bool]) -> None:
        """Until the phone is gone, or not known any more."""


def site(
    hub: Hub,
    pairing: Pairing,
    address: str,
    touched: Callable[[Touch, Who], None],
    sound: SoundLink | None,
) -> Starlette:
    """The application.

    Args:
        hub: has the latest of the session
        pairing: knows who was let in
        address: of the page, as in "https://192.168.1.5:8443"
        touched: takes what was touched, and on whose screen; from the server's thread
        sound: carries a phone's sound; None where no phone was asked for
    """

    async def pair(request: Request) -> Response:
        secret = pairing.pair(await _token(request))
        if secret is None:
            why = "This code is not good any more. Ask for a new one."
            return JSONResponse({"why": why}, 403)
        response = JSONResponse({})
        response.set_cookie(
            COOKIE, secret, max_age=int(PAIRED_FOR), path="/", secure=True, httponly=True,
            samesite="strict",
        )  # fmt: skip
        return response

    async def session(socket: WebSocket) -> None:
        await socket.accept()
        screen: Screen = socket.scope["screen"]
        hello = {"sound": sound is not None and screen.role is Who.PILOT}
        await socket.send_text(json.dumps(hello))
        take = _Taking(hub, pairing, address, touched, screen)
        await race(_show(socket, hub, screen, pairing), take.all_of(socket))
        await shut(socket)

    async def heard(socket: WebSocket) -> None:
        screen: Screen = socket.scope["screen"]
        if sound is None or screen.role is not Who.PILOT:
            await socket.close(1008)
            return
        await socket.accept()
        await sound.carry(socket, screen, lambda: pairing.knows(screen))
        await shut(socket)

    routes: list[BaseRoute] = [_file(path, name) for path, name in FILES.items()]
    routes.append(Route("/pair", pair, methods=["POST"]))
    routes += [WebSocketRoute("/session", session), WebSocketRoute("/sound", heard)]
    return Starlette(routes=routes)


def _file(path: str, name: str) -> Route:
    content = (files("callout.glance") / "static" / name).read_bytes()
    kind = KINDS[name.rpartition(".")[2]]

    async def given(request: Request) -> Response:
        del request
        return Response(content, media_type=f"{kind}; charset=utf-8")

    return Route(path, given, methods=["GET"])


async def _token(request: Request) -> str:
    """The token that was posted; "" for anything else."""
    body = b""
    try:
        async with asyncio.timeout(STUCK):
            async for part in request.stream():
                body += part
                if len(body) > LONGEST_BODY:
                    return ""
        found = json.loads(body)
    except (TimeoutError, ValueError, RecursionError):
        return ""
    token = found.get("token") if isinstance(found, dict) else None
    return token if isinstance(token, str) else ""


async def race(*ways: Awaitable[None]) -> None:
    """Until the first of them is over; the others are stopped."""
    tasks = [asyncio.ensure_future(way) for way in ways]
    try:
        await asyncio.wait(tasks, return_when=asyncio.FIRST_COMPLETED)
    finally:
        for task in tasks:
            task.cancel()
        await asyncio.gather(*tasks, return_exceptions=True)


async def shut(socket: WebSocket) -> None:
    """Close a stream that may be closed already."""
    with suppress(RuntimeError, WebSocketDisconnect):
        await socket.close(1008)


async def _show(socket: WebSocket, hub: Hub, screen: Screen, pairing: Pairing) -> None:
    """The latest view, whenever there is one, as long as the screen is known."""
    number = -1
    while pairing.knows(screen):
        try:
            async with asyncio.timeout(BEAT):
                await hub.after(number)
        except TimeoutError:
            pass  # nothing happened: the same, with times of now
        number, text = hub.view(screen.role)
        async with asyncio.timeout(STUCK):
            await socket.send_text(text)
        await asyncio.sleep(SPACING)
    await socket.close(1008, "This screen must be paired again.")


class _Taking:
    """What one page sends."""

    def __init__(
        self,
        hub: Hub,
        pairing: Pairing,
        address: str,
        touched: Callable[[Touch, Who], None],
        screen: Screen,
    ) -> None:
        self._hub = hub
        self._pairing = pairing
        self._address = address
        self._touched = touched
        self._screen = screen

    async def all_of(self, socket: WebSocket) -> None:
        """Until it leaves, or sends what no page of ours does."""
        bucket = Bucket(TOUCHES, TOUCHES_AT_ONCE, self._pairing.now())
        try:
            while True:
                found = message(await socket.receive_text())
                if not self._pairing.knows(self._screen):
                    return
                if not bucket.takes(self._pairing.now()):
                    await socket.close(1008, "Too much at once.")
                    return
                await self._take(socket, found)
        except (JunkError, KeyError):  # KeyError: bytes came instead of text
            await socket.close(1003)
        except WebSocketDisconnect:
            pass

    async def _take(self, socket: WebSocket, found: Touch | Invite) -> None:
        if isinstance(found, Touch):
            state = self._hub.seen.state
            if may_say(self._hub.aircraft, state, found.text, self._screen.role):
                self._touched(found, self._screen.role)
        elif self._screen.role is Who.PILOT:
            token = self._pairing.invite(Who(found.role))
            code = drawn(f"{self._address}/pair#{token}")
            await socket.send_text(json.dumps({"code": code, "role": found.role}))
