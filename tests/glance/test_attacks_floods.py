"""Junk, floods, what is too large and who is too slow end their own connection and harm nobody.

What is tried stands in OWASP's Web Security Testing Guide (WebSockets, denial of service; from
memory).
"""

from __future__ import annotations

import os
import socket
import struct
import time
from contextlib import ExitStack, suppress

import pytest
from glance_attacked import attacked, unharmed_after
from glance_served import LONG, everything, send, served, status, until_closed, view
from websockets.exceptions import ConnectionClosed

from callout.glance.gate import MOST_FROM_ONE

MB = 1024 * 1024

FAREWELL = b"\x88\x82\0\0\0\0\x03\xe8"
"""A frame that closes a stream, code 1000, masked with zeros (RFC 6455 5.2 and 7.4.1)."""

UPGRADE = (
    "GET {0} HTTP/1.1\r\nHost: {1.named}\r\nOrigin: {1.origin}\r\nCookie: {2}\r\n"
    "Connection: Upgrade\r\nUpgrade: websocket\r\nSec-WebSocket-Version: 13\r\n"
    "Sec-WebSocket-Key: dGhlIHNhbXBsZSBub25jZQ==\r\n\r\n"
)


@pytest.fixture(scope="module")
def page(tmp_path_factory):
    with attacked(tmp_path_factory.mktemp("glance")) as found:
        yield found


@pytest.fixture
def unharmed(page):
    with unharmed_after(page) as watching:
        yield watching


def test_ten_thousand_frames_of_junk_end_their_own_stream_only(page, unharmed):
    with page.socket(cookie=page.cookie()) as junk:
        with suppress(ConnectionClosed):  # how many go out before depends on the machine
            for sent in range(10_000):
                junk.send(os.urandom(40).hex() if sent % 2 else os.urandom(40))
        with pytest.raises(ConnectionClosed):
            until_closed(junk)


@pytest.mark.parametrize(
    "frame",
    ["[]", "1", '{"say":1,"shown":[1,0]}', '{"say":"closed"}', '{"say":"closed","shown":[1]}',
     '{"say":"closed","shown":[1,NaN]}', '{"say":"closed","shown":[1e400,0]}',
     '{"say":"closed","shown":[true,0]}', '{"say":"closed","shown":[1,0],"more":1}',
     '{"say":"","shown":[1,0]}', '{"say":"\\u0007","shown":[1,0]}', '{"invite":"king"}',
     '{"say":"%s","shown":[1,0]}' % ("x" * 121), "[" * 1000, "\x00"],
)  # fmt: skip
def test_what_is_no_message_of_a_page_ends_its_stream(page, unharmed, frame):
    with page.socket(cookie=page.cookie()) as junk:
        junk.send(frame)
        with pytest.raises(ConnectionClosed):
            until_closed(junk)


def test_a_flood_of_good_messages_ends_its_stream(page, unharmed):
    with page.socket(cookie=page.cookie()) as flood:
        shown = view(flood)
        with suppress(ConnectionClosed):
            for _ in range(1000):
                send(flood, "nonsense", shown)
        with pytest.raises(ConnectionClosed):
            until_closed(flood)


@pytest.mark.parametrize("parts", [1, 100])
def test_a_message_of_a_hundred_megabytes_is_not_taken_in(page, unharmed, parts):
    """By its head alone (RFC 6455 5.2), or as the sum of its fragments (5.4)."""
    with page.raw() as raw:
        raw.sendall(UPGRADE.format("/session", page, page.cookie()).encode())
        assert raw.recv(12).startswith(b"HTTP/1.1 101")
        size = 100 * MB // parts
        taken = 0
        try:
            for part in range(parts):
                first = (0x80 if part == parts - 1 else 0) | (0x2 if part == 0 else 0)
                raw.sendall(struct.pack("!BBQ4s", first, 0x80 | 127, size, b"\0\0\0\0"))
                for _ in range(0, size, 64 * 1024):
                    raw.sendall(b"\0" * (64 * 1024))
                    taken += 64 * 1024
        except OSError:
            pass
    assert taken < 20 * MB


def test_who_is_slow_to_say_what_he_wants_is_cut_off(page, unharmed):
    slow = [page.raw() for _ in range(8)]
    try:
        began = time.monotonic()
        for one in slow:
            one.sendall(b"GET / HTTP/1.1\r\nHost: ")
        open_ones = list(slow)
        while open_ones and time.monotonic() - began < LONG:
            for one in list(open_ones):
                try:
                    one.sendall(b"x")
                    one.settimeout(0.05)
                    if one.recv(1) == b"":
                        open_ones.remove(one)
                except TimeoutError:
                    pass
                except OSError:
                    open_ones.remove(one)
        assert [] == open_ones
    finally:
        for one in slow:
            one.close()


def test_one_address_cannot_take_every_connection(page, unharmed):
    plain = [socket.create_connection(("127.0.0.1", page.port)) for _ in range(3 * MOST_FROM_ONE)]
    try:
        time.sleep(0.2)
        assert MOST_FROM_ONE >= len(list(page.serving.gate.let_in()))
    finally:
        for one in plain:
            one.close()


def test_a_screen_that_is_slow_to_say_farewell_is_not_left_open(tmp_path):
    """One has its answer, one watches, one said farewell, one asks: none closes its own end."""
    with ExitStack() as slow:
        with served(tmp_path) as page:
            for path in ("/pair", "/session", "/session"):
                stream = slow.enter_context(page.raw())
                stream.sendall(UPGRADE.format(path, page, page.cookie()).encode())
                assert stream.recv(12).startswith(b"HTTP/1.1 ")
            stream.sendall(FAREWELL)
            everything(stream)
            slow.enter_context(page.raw()).sendall(b"GET / HTTP/1.1\r\n")
        assert [] == list(page.serving.gate.let_in())


def test_a_transport_that_cannot_abort_does_not_keep_the_others_open(tmp_path, monkeypatch):
    """As Debian's Python 3.11.2 has them once they were closed twice."""

    class ClosedTwice:
        def abort(self) -> None:
            raise AttributeError("'NoneType' object has no attribute '_abort'")

    with ExitStack() as slow, served(tmp_path) as page:
        stream = slow.enter_context(page.raw())
        stream.sendall(UPGRADE.format("/session", page, page.cookie()).encode())
        assert stream.recv(12).startswith(b"HTTP/1.1 101")
        monkeypatch.setattr(page.serving, "connections", lambda: [ClosedTwice()])
        page.serving.stop()
        assert [] == list(page.serving.gate.let_in())


def test_a_body_without_end_is_not_taken_in(page, unharmed):
    body = '{"token":"' + "x" * 100_000 + '"}'
    assert 403 == status(page.request("POST", "/pair", body, Origin=page.origin))


@pytest.mark.parametrize("busy", [0.0, 0.3])
def test_a_head_without_end_is_not_taken_in(page, unharmed, busy):
    """Not in one piece either, as a server reads it that was busy while it came."""
    with page.raw() as stream:
        page.serving.loop.call_soon_threadsafe(time.sleep, busy)
        with suppress(OSError):
            stream.sendall(b"GET / HTTP/1.1\r\nHost: x\r\n")
            for each in range(64):
                stream.sendall(b"X%d: %s\r\n" % (each, b"x" * 1000))
            stream.sendall(b"Connection: close\r\n\r\n")
        answer = everything(stream)
    assert answer == "" or status(answer) == 400
