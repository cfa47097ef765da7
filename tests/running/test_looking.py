"""A look at a server ends when its time is over, whatever the server does."""

from __future__ import annotations

import threading

import pytest

from callout.logbook.errors import LogbookError, ServerLostError
from callout.running.looking import within


def test_what_was_found_is_given_and_what_follows_is_waited_for():
    after: list[bool] = []
    assert 7 == within(60.0, lambda tell: after.append(tell(7)), "here")
    assert [True] == after


def test_a_server_that_goes_on_and_on_is_given_up_and_nothing_is_written_down_of_it():
    """It answers only once it is no longer waited for."""
    given_up, told, over = threading.Event(), [], threading.Event()

    def trickle(tell) -> None:
        given_up.wait()
        told.append(tell(7))
        over.set()

    with pytest.raises(ServerLostError, match="The server of the logbook club is slow"):
        within(0.01, trickle, "club")
    given_up.set()
    assert over.wait(60.0)
    assert [False] == told


def test_what_the_server_said_is_said_and_a_defect_is_a_sentence_too():
    def refuses(_) -> None:
        raise LogbookError("It does not let you in.")

    def breaks(_) -> None:
        raise ValueError("no such thing")

    with pytest.raises(LogbookError, match="It does not let you in"):
        within(60.0, refuses, "club")
    with pytest.raises(LogbookError, match=r"own \(ValueError: no such thing\)"):
        within(60.0, breaks, "club")
