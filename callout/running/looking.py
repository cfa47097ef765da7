"""A look at a server's logbook that takes so long and no longer, whatever the server does.

Rule of this file: the server is asked on a thread of its own, and given up by the clock. A
driver's time limit holds for each answer, even for each piece of one; a server that
trickles would hold the first word for as long as it likes.
"""

from __future__ import annotations

import threading
from collections.abc import Callable
from concurrent.futures import Future
from typing import TypeVar

from callout.logbook.errors import LogbookError, ServerLostError

T = TypeVar("T")


def within(
    seconds: float, look: Callable[[Callable[[T], bool]], None], place: object
) -> T:  # fmt: skip
    """What `look` found, if it did within so many seconds.

    `look` calls the function that it is given with what it found; that gives whether it
    was still waited for, when something may be written down about it.

    Raises LogbookError, also for a defect of `look` itself: a session begins without it.
    """
    found: Future[T] = Future()
    waited = threading.Lock()
    given_up = False

    def tell(what: T) -> bool:
        with waited:
            if not given_up:
                found.set_result(what)
            return not given_up

    def work() -> None:
        try:
            look(tell)
        except BaseException as error:
            with waited:
                if not found.done() and not given_up:
                    found.set_exception(error)

    thread = threading.Thread(target=work, name="looking", daemon=True)
    thread.start()
    thread.join(seconds)
    with waited:
        given_up = True
    if not found.done():
        raise ServerLostError(f"The server of the logbook {place} is slow.")
    try:
        return found.result()
    except LogbookError:
        raise
    except Exception as error:
        raise fault(error) from error


def fault(error: BaseException) -> LogbookError:
    """A defect of ours in a delivery, as a sentence: it ends no session."""
    return LogbookError(
        f"The logbook could not be shared, by a fault of callout's own "
        f"({type(error).__name__}: {error})."
    )
