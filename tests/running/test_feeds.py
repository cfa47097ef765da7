"""Feeds in a session: along a recording, killed and taken up, and live."""

from __future__ import annotations

import os
import pty
import queue
import random
import socket
import subprocess
import sys
import termios
import threading
import time
from pathlib import Path

import pytest
from click.testing import CliRunner
from feed_rig import Killed, aircraft, plane, run

from callout.cli.main import main
from callout.engine.events import Event, FeedFault, Lost, Reading, Restored
from callout.gauges.feed.places import Place, Way
from callout.gauges.feed.problems import FeedProblem
from callout.gauges.feed.simulated import lines
from callout.gauges.simulator import Faults, Machine, Plan, Sensor, SensorFault
from callout.gauges.simulator.readings import EXHAUST
from callout.logbook.store import Logbook
from callout.running.clock import RealClock
from callout.running.feeding import Feeding, RecordedFeed


@pytest.fixture(scope="module")
def feed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A start of 30 s with an exhaust temperature that sticks for a while."""
    file = tmp_path_factory.mktemp("feed") / "feed.csv"
    stuck = SensorFault(EXHAUST, Sensor.STUCK, 0.0, 14.0, 18.0)
    machine = Machine(faults=Faults(sensors=(stuck,)))
    file.write_text("\n".join(lines(machine, Plan(), 30.0, seed=2)), encoding="utf-8")
    return file


@pytest.fixture(scope="module")
def whole(feed: Path, tmp_path_factory: pytest.TempPathFactory) -> tuple[list, list]:
    """Events and facts of an undisturbed run."""
    folder = tmp_path_factory.mktemp("whole")
    run(plane(folder), feed, folder / "log.db")
    return kept(folder / "log.db")


def kept(logbook: Path) -> tuple[list, list]:
    with Logbook.read(logbook) as book:
        return book.events(1), book.facts(1)


def facts(found: tuple[list, list], name: str) -> list[tuple[float, str]]:
    return [(at, fact.about) for at, fact in found[1] if fact.fact == name]


def test_readings_along_a_recording_tick_what_waits_for_them_and_call_limits(whole):
    ticked = [about for _, about in facts(whole, "ticked")]

    assert ["start/gas-generator-speed", "start/fuel-lever"] == ticked[:2]
    assert 1 == len(facts(whole, "caution"))
    assert 1 <= len(facts(whole, "limit passed"))
    assert 1 == len(facts(whole, "sensor fault"))


def test_few_readings_stand_among_the_entries_and_all_are_kept(whole, feed: Path, tmp_path: Path):
    """Twenty-five and ten a second of two gauges, most of them many to a row."""
    run(plane(tmp_path), feed, tmp_path / "log.db")
    with Logbook.read(tmp_path / "log.db") as book:
        entries = [e for e in book.entries(1, "event") if e.name == "Reading"]
    readings = [event for _, event in whole[0] if isinstance(event, Reading)]

    assert len(entries) < 20
    assert len(readings) > 850


@pytest.mark.parametrize("seed", range(3))
@pytest.mark.parametrize("settled", [1.0, 30.0])
def test_killed_at_any_moment_and_taken_up_the_log_is_the_same(
    whole, feed: Path, tmp_path: Path, seed: int, settled: float
):
    """What was not on the disk yet comes out again; what was is compared, not written twice."""
    chance = random.Random(seed)
    rig = plane(tmp_path)
    for until in sorted(chance.uniform(0.0, 26.0) for _ in range(5)):
        with pytest.raises(Killed):
            run(rig, feed, tmp_path / "log.db", until=until, settled=settled)
    run(rig, feed, tmp_path / "log.db", settled=settled)

    assert whole == kept(tmp_path / "log.db")


def test_a_feed_without_times_cannot_lie_beside_a_recording(tmp_path: Path):
    file = tmp_path / "feed.csv"
    file.write_text("gas-generator-speed\n1\n", encoding="utf-8")

    with pytest.raises(FeedProblem, match='tells no "time" beside a recording'):
        RecordedFeed(file, plane(tmp_path).gauges)


def test_times_of_another_day_count_from_the_first_line(tmp_path: Path):
    file = tmp_path / "feed.csv"
    file.write_text("time,gas-generator-speed\n1700000000,1\n1700000002.5,1\n", encoding="utf-8")
    feed = RecordedFeed(file, plane(tmp_path).gauges)
    feed.take()  # the head says nothing: this is the first row

    assert 2.5 == feed.next_at()


class Fed:
    """A Feeding thread and what it puts into its inbox."""

    def __init__(self, place: Place, folder: Path) -> None:
        self.inbox: queue.SimpleQueue[Event] = queue.SimpleQueue()
        self.feeding = Feeding(place, plane(folder).gauges, RealClock(), self.inbox.put)
        self.feeding.start()

    def until(self, kind: type) -> Event:
        """The first event of this kind; fails if none comes in 20 s."""
        while True:
            event = self.inbox.get(timeout=20)
            if isinstance(event, kind):
                return event


def test_a_live_file_comes_at_its_own_pace_and_ends(tmp_path: Path):
    file = tmp_path / "feed.csv"
    rows = "".join(f"{n / 20},{20 + n % 3}\n" for n in range(21))
    file.write_text("time,gas-generator-speed\n" + rows, encoding="utf-8")
    clock = RealClock()
    fed = Fed(Place(Way.FILE, str(file)), tmp_path)
    fed.until(Reading)
    lost = fed.until(Lost)

    assert isinstance(lost, Lost)
    assert "has ended" in lost.what
    assert clock.now() >= 1.0


def test_a_gap_in_a_live_file_is_a_lost_feed(tmp_path: Path):
    """Its times leap by an hour: nothing is read meanwhile, and that is told."""
    file = tmp_path / "feed.csv"
    rows = "".join(f"{n / 20},{20 + n % 3}\n" for n in range(21))
    text = f"time,gas-generator-speed\n{rows}3600,20\n"
    file.write_text(text, encoding="utf-8")
    fed = Fed(Place(Way.FILE, str(file)), tmp_path)
    lost = fed.until(Lost)
    fed.feeding.stop()

    assert "nothing has come from" in str(lost)


def test_a_line_that_a_broken_connection_cut_is_no_value(tmp_path: Path):
    server = socket.create_server(("127.0.0.1", 0))
    fed = Fed(Place(Way.TCP, *server.getsockname()), tmp_path)
    connection, _ = server.accept()
    rows = "".join(f"{n / 20},72\n" for n in range(21))
    connection.sendall(f"time,gas-generator-speed\n{rows}1.05,7".encode())
    connection.close()
    server.close()
    lost = fed.until(Lost)
    fed.feeding.stop()

    assert "has ended" in str(lost)
    assert 21 == fed.feeding._watch.lines - 1


def test_a_serial_port_that_is_opened_anew_begins_with_a_whole_line(tmp_path: Path):
    """Two pseudo terminals behind one name; the second one is heard from within a line."""
    ports = [pty.openpty() for _ in range(2)]
    name = tmp_path / "port"
    name.symlink_to(os.ttyname(ports[0][1]))
    fed = Fed(Place(Way.SERIAL, str(name), 9600), tmp_path)
    head = "time,gas-generator-speed\n"
    _sent(ports[0][0], head + "".join(f"{n / 20},72\n" for n in range(21)), fed, 22)
    name.unlink()
    name.symlink_to(os.ttyname(ports[1][1]))
    os.close(ports[0][1])
    os.close(ports[0][0])
    assert isinstance(fed.until(Lost), Lost)
    _sent(ports[1][0], "5.05,7\n" + "".join(f"{5 + n / 20},72\n" for n in range(2, 21)), fed, 41)
    fed.feeding.stop()

    assert 1 + 21 + 19 == fed.feeding._watch.lines


def _sent(port: int, text: str, fed: Fed, lines: int) -> None:
    """Written when it is open, as opening empties it; returns when so many lines were taken."""
    until = time.monotonic() + 20
    while termios.tcgetattr(port)[4] != termios.B9600 and time.monotonic() < until:
        time.sleep(0.05)
    time.sleep(0.3)
    os.write(port, text.encode())
    while fed.feeding._watch.lines < lines and time.monotonic() < until:
        time.sleep(0.05)


def test_a_live_feed_that_stops_is_lost_and_comes_back(tmp_path: Path):
    """Datagrams to a real port: some, none for two seconds, and some again."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    fed = Fed(Place(Way.UDP, "127.0.0.1", port), tmp_path)
    over = threading.Event()

    def send() -> None:
        with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as sender:
            n = 0
            while not over.wait(0.02):
                n += 1
                line = f'{{"gas-generator-speed": {20 + n % 3}}}'
                sender.sendto(line.encode(), ("127.0.0.1", port))

    for expected in (Reading, Restored):
        over.clear()
        sending = threading.Thread(target=send)
        sending.start()
        fed.until(expected)
        over.set()
        sending.join()
        if expected is Reading:
            lost = fed.until(Lost)
            assert "nothing has come from UDP" in str(lost)
    fed.feeding.stop()


def test_garbage_without_end_is_a_lost_feed_and_nothing_worse(tmp_path: Path):
    """A real connection that sends noise: no line of it can be read."""
    server = socket.create_server(("127.0.0.1", 0))
    fed = Fed(Place(Way.TCP, *server.getsockname()), tmp_path)
    connection, _ = server.accept()
    over = threading.Event()

    def send() -> None:
        chance = random.Random(5)
        while not over.wait(0.01):
            connection.sendall(chance.randbytes(3000) + b"\n")

    sending = threading.Thread(target=send)
    sending.start()
    fault, lost = fed.until(FeedFault), fed.until(Lost)
    over.set()
    sending.join()
    fed.feeding.stop()
    connection.close()
    server.close()

    assert "Line 2 of the feed was not understood" in str(fault)  # the first may be cut
    assert "nothing that can be read has come from TCP" in str(lost)
    assert "of the feed was not understood" in str(lost)


@pytest.mark.parametrize(
    ("words", "why"),
    [
        (["--feed", "udp:x"], "'udp:x' has no number"),
        (["--feed", "udp:5000", "--clock", "recording"], "--clock recording needs a recorded feed"),
        (["--feed", "-", "--ear", "keys"], "--feed - takes the standard input"),
    ],
)
def test_a_feed_that_cannot_be_is_said_in_a_sentence(tmp_path: Path, words, why):
    sound = tmp_path / "silence.wav"
    import numpy as np
    import soundfile

    soundfile.write(sound, np.zeros(16000), 16000)
    done = CliRunner().invoke(
        main,
        ["run", str(aircraft(tmp_path)), "--listen", str(sound), "--speak", "none",
         "--logbook", str(tmp_path / "log.db"), *words],
    )  # fmt: skip

    assert 2 == done.exit_code
    assert why in done.stderr


def test_the_program_takes_a_feed_from_another_program(tmp_path: Path):
    """`callout feed simulate` into `callout run --feed -`, the words from a silent recording."""
    import numpy as np
    import soundfile

    sound = tmp_path / "silence.wav"
    soundfile.write(sound, np.zeros(16000 * 3), 16000)
    file = tmp_path / "feed.csv"
    file.write_text("\n".join(lines(Machine(), Plan(starter_at=0.2), 3.0)), encoding="utf-8")
    done = subprocess.run(
        [sys.executable, "-m", "callout", "run", str(aircraft(tmp_path)), "--clock", "recording",
         "--ear", "keys", "--listen", str(sound), "--speak", "none", "--feed", str(file),
         "--logbook", str(tmp_path / "log.db")],
        capture_output=True, text=True, timeout=120, check=False,
    )  # fmt: skip
    events, _ = kept(tmp_path / "log.db")

    assert (0, "") == (done.returncode, done.stderr)
    assert len([event for _, event in events if isinstance(event, Reading)]) > 80
