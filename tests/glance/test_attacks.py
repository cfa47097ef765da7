"""Who was not let in sees, says and changes nothing, and nobody can harm the session.

What is tried stands in OWASP's Web Security Testing Guide (session management, WebSockets,
CSRF, host header, path traversal, denial of service; from memory).
"""

from __future__ import annotations

import itertools
import json
import os
import socket
import struct
import time
from contextlib import ExitStack, suppress

import pytest
from glance_served import (
    LONG,
    everything,
    posted,
    refused,
    send,
    served,
    status,
    until,
    until_closed,
    view,
)
from websockets.exceptions import ConnectionClosed, InvalidMessage

from callout.checklist.model import Who
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
    # A fast machine asks more in a second than is let through: the meters' clock runs ahead.
    ahead = itertools.count(0.0, 10.0).__next__
    with served(tmp_path_factory.mktemp("glance"), patience=2.0, meters=ahead) as found:
        yield found


@pytest.fixture
def unharmed(page):
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


def let_in(page, patience=LONG):
    """A screen's stream: from the address of a flood it may have to wait until that has ebbed."""
    cookie, since = page.cookie(), time.monotonic()
    while True:
        try:
            return page.socket(cookie=cookie)
        except (InvalidMessage, OSError):
            if time.monotonic() - since > patience:
                raise
            time.sleep(0.05)


def test_without_being_let_in_nothing_is_given_but_the_page_that_asks_for_a_code(page, unharmed):
    paths = ("/", "/pair", "/glance.css", "/pair.js", "/glance.js", "/sound.js", "/press.js",
             "/sound-worklet.js", "/session", "/nothing")  # fmt: skip
    given = {path: status(page.get(path)) for path in paths}
    open_ones = {"/": 303, "/pair": 200, "/glance.css": 200, "/pair.js": 200}
    assert {path: open_ones.get(path, 401) for path in paths} == given
    assert refused(page)
    assert refused(page, path="/sound")
    assert refused(page, cookie="__Host-callout=" + "x" * 43)
    assert 303 == status(page.get("/", Cookie='__Host-callout=;;=\x01"'))


def test_nothing_of_the_session_stands_in_what_everybody_gets(page):
    given = " ".join(page.get(path) for path in ("/", "/pair", "/glance.css", "/pair.js"))
    words = ("Reedlark", "fuel", "lever", "walk round")
    assert [] == [word for word in words if word.lower() in given.lower()]


@pytest.mark.parametrize("host", ["evil.example", "localhost", "127.0.0.1", "127.0.0.1:1", ""])
def test_under_another_name_nothing_is_given(page, unharmed, host):
    assert 421 == status(page.get("/pair", Host=host))


@pytest.mark.parametrize("origin", ["https://evil.example", "null", "http://127.0.0.1", ""])
def test_another_page_can_neither_pair_nor_open_a_stream(page, unharmed, origin):
    cookie = page.cookie()
    assert 403 == posted(page, page.pairing.invite(Who.PILOT), Origin=origin)
    assert refused(page, cookie=cookie, origin=origin or " ")
    assert 403 == status(page.get("/", Cookie=cookie, Origin=origin))


def test_what_a_browser_says_comes_from_another_site_is_refused(page, unharmed):
    cookie = page.cookie()
    assert 403 == posted(page, page.pairing.invite(Who.PILOT), Sec_Fetch_Site="cross-site")
    assert refused(page, cookie=cookie, **{"Sec-Fetch-Site": "cross-site"})


def test_a_stream_without_an_origin_is_refused(page, unharmed):
    key = "Sec-WebSocket-Key: dGhlIHNhbXBsZSBub25jZQ==\nSec-WebSocket-Version: 13"
    up = f"Host: {page.named}\nConnection: Upgrade\nUpgrade: websocket\n{key}"
    answer = page.ask(f"GET /session HTTP/1.1\n{up}\nCookie: {page.cookie()}\n\n")
    assert 403 == status(answer)


def test_a_forwarded_address_is_not_believed(page, unharmed):
    answer = page.get("/pair", X_Forwarded_For="8.8.8.8", X_Forwarded_Host="evil.example")
    assert 200 == status(answer)
    assert "evil" not in answer


def test_the_cookie_is_for_this_server_alone_and_no_script_reads_it(page):
    token = page.pairing.invite(Who.PILOT)
    answer = page.request("POST", "/pair", json.dumps({"token": token}), Origin=page.origin)
    cookie = next(line for line in answer.split("\r\n") if line.lower().startswith("set-cookie"))
    for wanted in ("__Host-callout=", "HttpOnly", "Path=/", "SameSite=strict", "Secure"):
        assert wanted.lower() in cookie.lower()
    assert "domain" not in cookie.lower()


@pytest.mark.parametrize(
    "path",
    ["/../../../../etc/passwd", "/%2e%2e/%2e%2e/etc/passwd", "/..%2f..%2fpyproject.toml",
     "//etc/passwd", "/static/glance.html", "/glance.js/../pair.html", "/\\..\\..\\x", "/%00"],
)  # fmt: skip
def test_no_path_leads_out_of_the_named_files(page, unharmed, path):
    answer = page.get(path, Cookie=page.cookie())
    assert status(answer) in (400, 404)
    assert "root:" not in answer
    assert "[project]" not in answer


@pytest.mark.parametrize("method", ["PUT", "DELETE", "OPTIONS", "TRACE", "CONNECT", "BREW"])
def test_other_methods_do_nothing(page, unharmed, method):
    assert status(page.request(method, "/", "", Cookie=page.cookie())) in (400, 403, 405)


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


def test_a_helper_can_neither_answer_for_the_pilot_nor_ask_for_codes(page, unharmed):
    before = page.item()
    with page.socket(cookie=page.cookie(Who.HELPER)) as helper:
        shown = view(helper)
        assert "" == shown["item"]
        for words in ("closed", "skip", "override", "defer", "open start", "24.6"):
            send(helper, words, shown)
        helper.send(json.dumps({"invite": "pilot"}))
        send(helper, "say again", shown)
        until(lambda: "say again" == page.hub.seen.heard.text)
    assert before == page.item()
    assert refused(page, cookie=page.cookie(Who.HELPER), path="/sound")
