"""Codes that let a screen in: once, in time, and nobody without one.

What is tried stands in OWASP's Web Security Testing Guide (session management; from memory).
"""

from __future__ import annotations

import pytest
from glance_served import LONG, posted, refused, served, status, until_closed, view
from websockets.exceptions import ConnectionClosed

from callout.checklist.model import Who
from callout.glance.pairing import INVITED_FOR, PAIRED_FOR


def test_a_code_lets_one_screen_in_once(tmp_path):
    with served(tmp_path) as page:
        token = page.pairing.invite(Who.PILOT)
        assert 200 == posted(page, token)
        assert 403 == posted(page, token)


def test_a_code_that_is_wrong_missing_or_no_text_lets_nobody_in(tmp_path):
    with served(tmp_path) as page:
        page.pairing.invite(Who.PILOT)
        tried = ["", "x" * 43, None, ["x"]]
        assert [403] * 4 == [posted(page, token) for token in tried]


def test_a_code_expires_and_so_does_a_screen(tmp_path):
    with served(tmp_path) as page:
        token = page.pairing.invite(Who.PILOT)
        cookie = page.cookie()
        page.time += INVITED_FOR
        assert 403 == posted(page, token)
        assert 200 == status(page.get("/", Cookie=cookie))
        page.time += PAIRED_FOR
        assert 303 == status(page.get("/", Cookie=cookie))
        assert refused(page, cookie=cookie)


def test_a_screen_is_shut_out_when_its_time_is_up_while_it_watches(tmp_path):
    with served(tmp_path) as page, page.socket(cookie=page.cookie()) as watching:
        view(watching)
        page.time += PAIRED_FOR
        with pytest.raises(ConnectionClosed):
            until_closed(watching)


def test_a_phone_is_shut_out_when_its_time_is_up_while_it_speaks(tmp_path):
    with served(tmp_path) as page, page.socket("/sound", cookie=page.cookie()) as speaking:
        speaking.recv(timeout=LONG)
        page.time += PAIRED_FOR
        with pytest.raises(ConnectionClosed):
            until_closed(speaking)


def test_whoever_was_let_in_can_be_shut_out(tmp_path):
    with served(tmp_path) as page:
        cookie, token = page.cookie(), page.pairing.invite(Who.PILOT)
        with page.socket(cookie=cookie) as watching:
            view(watching)
            page.pairing.forget()
            with pytest.raises(ConnectionClosed):
                until_closed(watching)
        assert refused(page, cookie=cookie)
        assert 403 == posted(page, token)


def test_too_many_tries_to_be_let_in_are_not_looked_at(tmp_path):
    with served(tmp_path, meters=lambda: 0.0) as page:
        token = page.pairing.invite(Who.PILOT)
        tried = [posted(page, "x" * 43) for _ in range(6)]
        assert [403] * 5 + [429] == tried
        assert 429 == posted(page, token)
