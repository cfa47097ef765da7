"""The latest of the session for every screen: put in by one thread, waited for by another.

Rule of this file: only the latest counts. A slow screen misses steps in between, and
neither holds up the session nor fills memory. Views are made on the server's thread.
"""

from __future__ import annotations

import asyncio
from collections.abc import Callable

from callout.checklist.model import Aircraft, Who
from callout.glance.seen import Seen
from callout.glance.view import as_json, glance

FRESH = 0.02
"""Seconds for which a view is the same for all screens of a role: times in it run down."""


class Hub:
    """Between the session's thread and the server's loop.

    Args:
        now: tells session time (s)

    Fields:
        number: grows with each step that was put in
    """

    def __init__(self, aircraft: Aircraft, now: Callable[[], float]) -> None:
        self.aircraft = aircraft
        self._now = now
        self._seen = Seen()
        self.number = 0
        self._loop: asyncio.AbstractEventLoop | None = None
        self._changed: asyncio.Event | None = None
        self._waking = False
        self._made: dict[Who, tuple[int, float, str]] = {}

    @property
    def seen(self) -> Seen:
        """The latest."""
        return self._seen

    def put(self, seen: Seen) -> None:
        """Take the latest, on the session's thread, and be gone."""
        self._seen = seen
        self.number += 1
        if self._loop is not None and not self._waking:
            self._waking = True
            try:
                self._loop.call_soon_threadsafe(self._wake)
            except RuntimeError:  # the server has ended
                self._loop = None

    def serve_on(self, loop: asyncio.AbstractEventLoop) -> None:
        """From now on this loop wakes those who wait."""
        self._changed = asyncio.Event()
        self._loop = loop

    def _wake(self) -> None:
        self._waking = False
        changed, self._changed = self._changed, asyncio.Event()
        if changed is not None:
            changed.set()

    async def after(self, number: int) -> None:
        """Until there is something later than this number."""
        while self.number == number and self._changed is not None:
            await self._changed.wait()

    def view(self, role: Who) -> tuple[int, str]:
        """The latest as a screen of this role shows it now, with its number; as JSON."""
        number, now = self.number, self._now()
        made = self._made.get(role)
        if made is None or made[0] != number or now - made[1] > FRESH:
            text = as_json(glance(self.aircraft, self._seen, now, role))
            made = self._made[role] = (number, now, text)
        return made[0], made[2]
