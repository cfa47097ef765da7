"""The page that attacks are tried on, and how it is told afterwards that they did no harm.

Rule of this file: the real server, and screens that were let in; nothing here attacks.
"""

from __future__ import annotations

import itertools
import time
from collections.abc import Iterator
from contextlib import AbstractContextManager, contextmanager
from pathlib import Path

from glance_served import LONG, Served, send, served, until, view
from page_stream import PageStream
from websockets.exceptions import InvalidMessage


def attacked(folder: Path) -> AbstractContextManager[Served]:
    """A page that is impatient, and lets as many requests through as a test may need."""
    # A fast machine asks more in a second than is let through: the meters' clock runs ahead.
    ahead = itertools.count(0.0, 10.0).__next__
    return served(folder, patience=2.0, meters=ahead)


@contextmanager
def unharmed_after(page: Served) -> Iterator[PageStream]:
    """Whatever was tried: who watched still does, and a screen sees the session and can answer."""
    item = page.item()
    with let_in(page) as watching:
        view(watching)
        yield watching
        assert watching.is_answered()
    with let_in(page) as another:
        shown, since = view(another), page.now()
        send(another, "say again", shown)
        until(lambda: page.hub.seen.heard.at >= since)
        assert "say again" == page.hub.seen.heard.text
    assert item == page.item()


def let_in(page: Served, patience: float = LONG) -> PageStream:
    """A screen's stream: from the address of a flood it may have to wait until that has ebbed."""
    cookie, since = page.cookie(), time.monotonic()
    while True:
        try:
            return page.socket(cookie=cookie)
        except (InvalidMessage, OSError):
            if time.monotonic() - since > patience:
                raise
            time.sleep(0.05)
