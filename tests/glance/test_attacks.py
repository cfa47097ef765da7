"""Who was not let in sees, says and changes nothing, and a helper only what a helper may.

What is tried stands in OWASP's Web Security Testing Guide (session management, WebSockets,
CSRF, host header, path traversal; from memory).
"""

from __future__ import annotations

import json

import pytest
from glance_attacked import attacked, unharmed_after
from glance_served import posted, refused, send, status, until, view

from callout.checklist.model import Who


@pytest.fixture(scope="module")
def page(tmp_path_factory):
    with attacked(tmp_path_factory.mktemp("glance")) as found:
        yield found


@pytest.fixture
def unharmed(page):
    with unharmed_after(page) as watching:
        yield watching


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
