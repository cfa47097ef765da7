"""A page served in this process: a real engine, a real server, and clients that speak to it.

Rule of this file: real sockets on the loopback; the engine's own session behind them.
"""

from __future__ import annotations

import json
import socket
import ssl
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from page_stream import LONG, TRUSTING, PageStream
from websockets.exceptions import InvalidStatus

from callout.checklist.load import load_all
from callout.checklist.model import Aircraft, Item, Who
from callout.ear.keys_ear import KeysEar
from callout.engine.events import Event, SessionOpened
from callout.engine.session import Session
from callout.engine.state import current
from callout.glance.certificate import certified
from callout.glance.gate import Gate
from callout.glance.guard import COOKIE, Guard
from callout.glance.hub import Hub
from callout.glance.messages import Touch
from callout.glance.pairing import Pairing
from callout.glance.phone import Phone
from callout.glance.seen import Seen, after
from callout.glance.serving import Serving
from callout.glance.site import site
from callout.running.glancing import Touched

REEDLARK = Path(__file__).parents[2] / "checklists" / "reedlark.yaml"


class Served:
    """The page of one session.

    Args:
        clock: session time, and a phone's, goes by it
        meters: the clock by which it is told who asks too often

    Fields:
        time: of the clock by which codes expire
    """

    def __init__(self, folder: Path, aircraft: Aircraft | None = None, patience: float = 5,
                 lists: tuple[str, ...] = ("walk-round",),
                 clock: Callable[[], float] = time.monotonic,
                 meters: Callable[[], float] = time.monotonic) -> None:  # fmt: skip
        self.time = 0.0
        self._clock = clock
        self.began = clock()
        self.session = Session(aircraft or load_all(REEDLARK).aircraft)
        self.touches = 0
        self._lock = threading.Lock()
        self._keys = KeysEar(self.now)
        self.pairing = Pairing(lambda: self.time)
        self.hub = Hub(self.session.aircraft, self.now)
        self.lost: list[str] = []
        self.phone = Phone(self.now, self.lost.append, lambda: self.lost.append("back"))
        gate = Gate("127.0.0.1", 0)
        self.port = gate.port
        self.named = f"127.0.0.1:{self.port}"
        self.origin = f"https://{self.named}"
        app = site(self.hub, self.pairing, self.origin, self._touched, self.phone)
        guard = Guard(app, self.named, self.pairing, meters)
        context = certified(folder, "127.0.0.1").context
        self.serving = Serving(guard, gate, context, self._serve_on, patience)
        self.handle(SessionOpened(lists))
        self.serving.start()

    def _serve_on(self, loop) -> None:
        self.hub.serve_on(loop)
        self.phone.serve_on(loop)

    def now(self) -> float:
        return self._clock() - self.began

    def handle(self, event: Event) -> None:
        now = self.now()
        effects = self.session.handle(event, now)
        seen: Seen = after(self.hub.seen, event, effects, self.session.state, now)
        self.hub.put(seen)

    def _touched(self, touch: Touch, role: Who) -> None:
        with self._lock:
            state = self.session.state
            self._keys.listen_for(state.grammar)
            line = Touched(touch.text, touch.serial, touch.asked_at)
            for event in self._keys.hear(touch.text):
                self.handle(line.meant(event, state))
            self.touches += 1

    def cookie(self, role: Who = Who.PILOT) -> str:
        secret = self.pairing.pair(self.pairing.invite(role))
        assert secret is not None
        return f"{COOKIE}={secret}"

    def socket(self, path: str = "/session", *, cookie: str = "", origin: str | None = None,
               **headers: str) -> PageStream:  # fmt: skip
        found = {"Cookie": cookie, **headers} if cookie else headers
        address = f"wss://{self.named}{path}"
        return PageStream(address, origin=origin or self.origin, headers=found)

    def touch(self, words: str) -> None:
        """As a page that shows the latest does."""
        state = self.session.state
        self._touched(Touch(words, state.grammar.serial, state.asked_at), Who.PILOT)

    def in_hand(self) -> Item:
        return current(self.session.aircraft, self.session.state)[1]

    def item(self) -> str:
        return self.in_hand().id

    def ask(self, request: str) -> str:
        """Send these bytes, and give the whole answer; "" where there is none."""
        with self.raw() as plain:
            with suppress(OSError):  # refused before it was all sent
                plain.sendall(request.replace("\n", "\r\n").encode("latin-1"))
            return everything(plain)

    def get(self, path: str, **headers: str) -> str:
        return self.request("GET", path, "", **headers)

    def request(self, method: str, path: str, body: str, **headers: str) -> str:
        lines = {"Host": self.named, "Content-Length": str(len(body)), **headers}
        head = "\n".join(f"{name.replace('_', '-')}: {value}" for name, value in lines.items())
        return self.ask(f"{method} {path} HTTP/1.1\n{head}\n\n{body}")

    def raw(self) -> ssl.SSLSocket:
        plain = socket.create_connection(("127.0.0.1", self.port), timeout=LONG)
        return TRUSTING.wrap_socket(plain)


def everything(plain: ssl.SSLSocket) -> str:
    found = b""
    try:
        while part := plain.recv(65536):
            found += part
    except (ConnectionError, ssl.SSLError):
        pass
    return found.decode("latin-1")


def status(answer: str) -> int:
    return int(answer.split(" ", 2)[1])


def view(socket: PageStream, timeout: float = LONG) -> dict:
    """The next view that comes."""
    until = time.monotonic() + timeout
    while time.monotonic() < until:
        found = json.loads(socket.recv(timeout=timeout))
        if "shown" in found:
            return found
    raise AssertionError("no view came")


@contextmanager
def served(folder: Path, **more) -> Iterator[Served]:
    found = Served(folder, **more)
    try:
        yield found
    finally:
        found.serving.stop()


def until(true, seconds: float = LONG) -> None:
    deadline = time.monotonic() + seconds
    while not true():
        assert time.monotonic() < deadline
        time.sleep(0.002)


def until_closed(stream) -> None:
    while True:
        stream.recv(timeout=LONG)


def send(watching, words: str, shown: dict) -> None:
    watching.send(json.dumps({"say": words, "shown": shown["shown"]}))


def posted(page: Served, token: object, **headers: str) -> int:
    return status(
        page.request("POST", "/pair", json.dumps({"token": token}),
                     **{"Origin": page.origin, **headers})
    )  # fmt: skip


def refused(page: Served, **how: str) -> bool:
    try:
        with page.socket(**how):
            return False
    except InvalidStatus as error:
        return error.response.status_code == 403
