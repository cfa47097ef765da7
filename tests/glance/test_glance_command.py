"""`callout run --glance` as a user types it: codes, a phone that goes away, what cannot be."""

from __future__ import annotations

import json
import os
import socket
import struct
import subprocess
import sys
import threading
import urllib.request

import pytest
from glance_rig import LONG, REEDLARK, Run, running
from page_stream import TRUSTING, PageStream
from websockets.exceptions import InvalidStatus

from callout.logbook.store import Logbook


def callout(*words: str, folder) -> subprocess.CompletedProcess:
    log = ("--logbook", str(folder / "logbook.db"))
    return subprocess.run(
        [sys.executable, "-m", "callout", "run", str(REEDLARK), *words, *log],
        capture_output=True,
        text=True,
        timeout=200,
        stdin=subprocess.DEVNULL,
        check=False,
        env=at_home(folder),
    )


def at_home(folder) -> dict[str, str]:
    """The certificate is kept in the test's own folder, not in the user's."""
    return {**os.environ, "XDG_DATA_HOME": str(folder)}


def let_in(run: Run, number: int = 0) -> str:
    """The cookie of a screen, as a browser gets it for a code."""
    address, _, token = run.code(number).partition("/pair#")
    asked = urllib.request.Request(
        f"{address}/pair",
        json.dumps({"token": token}).encode(),
        {"Origin": address, "Content-Type": "application/json"},
    )
    with urllib.request.urlopen(asked, context=TRUSTING, timeout=LONG) as answer:
        return answer.headers["Set-Cookie"].split(";")[0]


def stream(run: Run, path: str, cookie: str):
    named = f"127.0.0.1:{run.port}"
    address = f"wss://{named}{path}"
    return PageStream(address, origin=f"https://{named}", headers={"Cookie": cookie})


class Speaking(threading.Thread):
    """A phone that sends its frames until it is told to be silent."""

    def __init__(self, sound, first: int = 0) -> None:
        super().__init__(daemon=True)
        self._sound = sound
        self.number = first
        self._over = threading.Event()
        self.start()

    def run(self) -> None:
        while not self._over.wait(0.02):
            self._sound.send(struct.pack("<I", self.number) + bytes(640))
            self.number += 1

    def silent(self) -> None:
        self._over.set()
        self.join()


@pytest.mark.devices
@pytest.mark.flaky(reruns=2)
def test_a_phone_that_goes_away_parks_the_list_and_its_return_goes_on():
    ends = ("--ear", "keys", "--listen", "phone", "--speak", "none")
    with running("walk-round", *ends) as run:
        cookie = let_in(run)
        assert [] == run.lines, "nobody is there to hear the first call"
        with stream(run, "/sound?a", cookie) as sound, stream(run, "/session", cookie) as page:
            phone = Speaking(sound)
            run.wait_for("Fuel lever?")
            phone.silent()
            run.wait_for("Phone lost.")
            run.wait_for("Holding at fuel lever.")
            phone = Speaking(sound, phone.number)
            run.wait_for("Phone works again.")
            asked = [line for line in run.lines if "Fuel lever?" in line]
            page.send(json.dumps({"say": "resume", "shown": shown(page, "resume")}))
            run.wait_until(lambda: len([x for x in run.lines if "Fuel lever?" in x]) > len(asked))
            phone.silent()
        with Logbook.read(run.folder / "logbook.db") as logbook:
            found = [(fact.fact, dict(fact.data).get("part", "")) for _, fact in logbook.facts(1)]
        for wanted in (("lost", "phone"), ("held", ""), ("restored", "phone"), ("resumed", "")):
            assert wanted in found
        assert "ticked" not in [fact for fact, _ in found]


def shown(page, words: str) -> list:
    """What the page shows when these words count.

    A list that nobody answered for half a minute, on a busy machine, stands by till it is resumed.
    """
    while True:
        view = json.loads(page.recv(timeout=LONG))
        if words in (ways := [way["text"] for way in view.get("ways", ())]):
            return view["shown"]
        if "resume" in ways:
            page.send(json.dumps({"say": "resume", "shown": view["shown"]}))


def test_a_further_code_comes_when_it_is_asked_for_and_answers_nothing():
    with running("walk-round", "--ear", "keys", "--speak", "none") as run:
        run.wait_for("Fuel lever?")
        run.type("pair helper")
        with stream(run, "/session", let_in(run, 1)) as page:
            view = json.loads(page.recv(timeout=LONG))
            while "role" not in view:
                view = json.loads(page.recv(timeout=LONG))
        assert "helper" == view["role"]
        assert [] == [line for line in run.lines if "pair" in line]


def test_unpair_shuts_every_screen_out():
    with running("walk-round", "--ear", "keys", "--speak", "none") as run:
        cookie = let_in(run)
        run.wait_for("Fuel lever?")
        run.type("unpair")
        run.wait_until(lambda: [line for line in run.errors if "shut out" in line])
        with pytest.raises(InvalidStatus):
            stream(run, "/session", cookie)
        run.type("pair")
        let_in(run, 1)


def test_what_was_touched_is_in_the_logbook_as_such():
    with running("walk-round", "--ear", "keys", "--speak", "none") as run:
        with stream(run, "/session", let_in(run)) as page:
            page.send(json.dumps({"say": "closed", "shown": shown(page, "closed")}))
            run.wait_for("Battery master?")
        with Logbook.read(run.folder / "logbook.db") as logbook:
            sources = [getattr(event, "source", "") for _, event in logbook.events(1)]
    assert ["touch"] == [source for source in sources if source]


def test_a_session_with_a_page_outlasts_its_terminal():
    with running("walk-round", "--ear", "keys", "--speak", "none") as run:
        run.wait_for("Fuel lever?")
        run.process.stdin.close()
        with stream(run, "/session", let_in(run)) as page:
            page.send(json.dumps({"say": "closed", "shown": shown(page, "closed")}))
            run.wait_for("Battery master?")


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--glance-at", "8.8.8.8"), "is no address of a local network"),
        (("--glance-at", "0.0.0.0"), "is no address of a local network"),
        (("--glance-at", "127.0.0.1:70000"), "'70000' is no port"),
        (("--glance-at", "10.99.99.99"), "cannot be served at 10.99.99.99"),
        (("--glance", "--clock", "recording", "--listen", "x.wav"), "needs --clock real"),
    ],
)
def test_what_cannot_be_served_is_one_sentence(tmp_path, words, said):
    done = callout(*words, "--ear", "keys", "--speak", "none", folder=tmp_path)
    assert 2 == done.returncode
    assert said in done.stderr
    assert "Traceback" not in done.stderr


def test_a_port_that_is_taken_is_one_sentence(tmp_path):
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = taken.getsockname()[1]
        words = ("--glance-at", f"127.0.0.1:{port}", "--ear", "keys", "--speak", "none")
        done = callout(*words, folder=tmp_path)
    assert 2 == done.returncode
    assert "Give another with --glance-at ADDRESS:PORT." in done.stderr


def test_without_being_asked_for_nothing_of_it_is_imported():
    asked = (
        "import sys, callout.cli.run, callout.running.assembly;"
        "print([m for m in ('starlette', 'uvicorn', 'websockets', 'cryptography', 'segno',"
        " 'asyncio') if m in sys.modules])"
    )
    done = subprocess.run(
        [sys.executable, "-c", asked], capture_output=True, text=True, check=True, timeout=200
    )
    assert "[]" == done.stdout.strip()


@pytest.mark.parametrize("package", ["starlette", "uvicorn", "cryptography"])
def test_a_package_that_is_missing_is_named_with_what_installs_it(tmp_path, package):
    asked = (
        f"import sys; sys.modules[{package!r}] = None;"
        "from callout.cli.main import main;"
        f"main(['run', {str(REEDLARK)!r}, '--glance-at', '127.0.0.1', '--ear', 'keys',"
        f" '--speak', 'none', '--logbook', {str(tmp_path / 'logbook.db')!r}])"
    )
    done = subprocess.run(
        [sys.executable, "-c", asked], capture_output=True, text=True, check=False, timeout=200,
        stdin=subprocess.DEVNULL, env=at_home(tmp_path),
    )  # fmt: skip
    assert 2 == done.returncode
    assert f"needs the package {package}" in done.stderr
    assert 'pip install "callout[glance]"' in done.stderr
