"""Who may see, speak and change anything: invitations that are good once, screens that were let in.

Rule of this file: no network. Secrets are random, kept as digests only, compared in
constant time, and gone with the program. Times come from a clock that is given.
"""

from __future__ import annotations

import hashlib
import hmac
import secrets
import threading
from collections.abc import Callable
from dataclasses import dataclass

from callout.checklist.model import Who

INVITED_FOR = 300.0
"""Seconds in which an invitation may be taken up: the way from the bench to the phone."""

PAIRED_FOR = 12 * 3600.0
"""Seconds after which a screen must be paired again: a flying day."""

MOST_SCREENS = 8
"""Screens that are let in at a time; the oldest makes room."""

MOST_INVITATIONS = 4


@dataclass(frozen=True, slots=True)
class Screen:
    """A screen that was let in.

    Fields:
        key: digest of its secret
        role: whose screen it is
        until: clock time (s) at which it must be paired again
    """

    key: bytes
    role: Who
    until: float


class Pairing:
    """All of one program.

    Fields:
        now: seconds of a clock that never goes back
    """

    def __init__(self, now: Callable[[], float]) -> None:
        self.now = now
        self._lock = threading.Lock()
        self._invited: list[Screen] = []
        self._screens: list[Screen] = []

    def invite(self, role: Who) -> str:
        """A token that lets one screen in, once, within INVITED_FOR seconds."""
        token = secrets.token_urlsafe(32)
        with self._lock:
            self._drop_old()
            self._invited.append(Screen(_digest(token), role, self.now() + INVITED_FOR))
            del self._invited[:-MOST_INVITATIONS]
        return token

    def pair(self, token: str) -> str | None:
        """The secret of a screen that is let in; None if the token is not, or no longer, good."""
        with self._lock:
            self._drop_old()
            invited = _find(self._invited, token)
            if invited is None:
                return None
            self._invited.remove(invited)
            secret = secrets.token_urlsafe(32)
            until = self.now() + PAIRED_FOR
            self._screens.append(Screen(_digest(secret), invited.role, until))
            del self._screens[:-MOST_SCREENS]
            return secret

    def screen(self, secret: str) -> Screen | None:
        """The screen that has this secret; None if none has."""
        with self._lock:
            self._drop_old()
            return _find(self._screens, secret)

    def knows(self, screen: Screen) -> bool:
        """Whether a screen that was let in still is."""
        with self._lock:
            self._drop_old()
            return screen in self._screens

    def forget(self) -> None:
        """Nobody is let in any more, and no code is good."""
        with self._lock:
            self._invited, self._screens = [], []

    def _drop_old(self) -> None:
        now = self.now()
        self._invited = [one for one in self._invited if one.until > now]
        self._screens = [one for one in self._screens if one.until > now]


def _digest(secret: str) -> bytes:
    return hashlib.sha256(secret.encode("utf-8", "surrogatepass")).digest()


def _find(among: list[Screen], secret: str) -> Screen | None:
    """Every one is compared, so that time tells nothing."""
    key = _digest(secret)
    found = None
    for one in among:
        if hmac.compare_digest(one.key, key):
            found = one
    return found
