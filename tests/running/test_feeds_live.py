"""Feeds in a live session: files, sockets and ports that are read on a thread of their own."""

from __future__ import annotations

import os
import pty
import queue
import random
import socket
import threading
import time
from pathlib import Path

import serial
from feed_rig import plane

from callout.engine.events import Event, FeedFault, Lost, Reading, Restored
from callout.gauges.feed.places import Place, Way
from callout.running.clock import RealClock
from callout.running.feeding import Feeding


class Fed:
    """A Feeding thread and what it puts into its inbox."""

    def __init__(self, place: Place, folder: Path) -> None:
        self.inbox: queue.SimpleQueue[Event] = queue.SimpleQueue()
        self.feeding = Feeding(place, plane(folder).gauges, RealClock(), self.inbox.put)
        self.feeding.start()

    def until(self, kind: type) -> Event:
        """The first event of this kind; fails if none comes in a minute."""
        while True:
            event = self.inbox.get(timeout=60)
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


def test_a_live_file_that_is_read_in_pieces_has_no_gap_between_them(tmp_path: Path, monkeypatch):
    """The second piece is read when the times of the first have come: 2.5 s are no silence."""
    monkeypatch.setattr("callout.gauges.feed.sources.CHUNK", 64)
    file = tmp_path / "feed.csv"
    rows = "".join(f"{n / 2},{20 + n % 3}\n" for n in range(7))
    file.write_text("time,gas-generator-speed\n" + rows, encoding="utf-8")
    fed = Fed(Place(Way.FILE, str(file)), tmp_path)

    assert "has ended" in str(fed.until(Lost))


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
    server.close()  # first: nobody is to connect a second time
    connection.close()
    lost = fed.until(Lost)
    fed.feeding.stop()

    assert "has ended" in str(lost)
    assert 21 == fed.feeding._watch.lines - 1


class Port(serial.Serial):
    """One that tells when it is open: what came before, opening throws away."""

    opened: queue.SimpleQueue[str] = queue.SimpleQueue()

    def open(self) -> None:
        super().open()
        self.opened.put(self.port)


def test_a_serial_port_that_is_opened_anew_begins_with_a_whole_line(tmp_path: Path, monkeypatch):
    """Two pseudo terminals behind one name; the second one is heard from within a line."""
    monkeypatch.setattr(serial, "Serial", Port)
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
    """Written when it is open; returns when so many lines were taken."""
    Port.opened.get(timeout=60)
    os.write(port, text.encode())
    until = time.monotonic() + 60
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
