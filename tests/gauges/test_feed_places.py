"""Where feeds come from and go to: real files, sockets, pipes and a terminal as a serial port."""

from __future__ import annotations

import os
import pty
import socket
import subprocess
import sys
import threading
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path

import pytest

from callout.gauges.feed.parsing import Name, Parser, Row
from callout.gauges.feed.places import Place, Way, place
from callout.gauges.feed.problems import FeedProblem
from callout.gauges.feed.recording import Written, as_json, rows
from callout.gauges.feed.sources import chunks
from callout.gauges.feed.targets import target


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        ("-", Place(Way.STANDARD)),
        ("a/feed.csv", Place(Way.FILE, "a/feed.csv")),
        ("C:\\feed.csv", Place(Way.FILE, "C:\\feed.csv")),
        ("udp:5000", Place(Way.UDP, "127.0.0.1", 5000)),
        ("udp:0.0.0.0:5000", Place(Way.UDP, "0.0.0.0", 5000)),
        ("tcp:gateway:23", Place(Way.TCP, "gateway", 23)),
        ("tcp:::1:23", Place(Way.TCP, "::1", 23)),
        ("serial:/dev/ttyUSB0", Place(Way.SERIAL, "/dev/ttyUSB0", 115_200)),
        ("serial:/dev/ttyUSB0:9600", Place(Way.SERIAL, "/dev/ttyUSB0", 9600)),
        ("serial:COM3", Place(Way.SERIAL, "COM3", 115_200)),
    ],
)
def test_words_name_a_place(words, expected):
    assert expected == place(words)


@pytest.mark.parametrize(
    ("words", "why"),
    [
        ("udp:", "'udp:' has no number from 1 to 65535 at its end"),
        ("udp:0", "'udp:0' has no number from 1 to 65535 at its end"),
        ("tcp:host:99999", "'tcp:host:99999' has no number from 1 to 65535"),
        ("tcp:host", "'tcp:host' has no number"),
        ("udp:²", "'udp:²' has no number"),
        ("serial:", "'serial:' names no serial port"),
        ("serial:x:0", "'serial:x:0' has no number"),
        ("", "'' is no place for a feed"),
    ],
)
def test_words_that_name_none_are_told_what_would_be_right(words, why):
    with pytest.raises(FeedProblem, match="Give -, a file, udp:PORT") as refused:
        place(words)
    assert why in str(refused.value)


def first(where: Place) -> bytes:
    """The first bytes that come from a place."""
    return next(chunk for chunk in chunks(where) if chunk)


def test_a_file_is_read_to_its_end(tmp_path: Path):
    file = tmp_path / "feed.csv"
    file.write_bytes(b"a,b\n" * 50_000)

    assert file.read_bytes() == b"".join(c for c in chunks(place(str(file))) if c)


def test_a_file_that_is_not_there_is_said(tmp_path: Path):
    with pytest.raises(FeedProblem, match="cannot be read: No such file or directory"):
        list(chunks(place(str(tmp_path / "none.csv"))))


def open_port() -> tuple[Place, Iterator[bytes | None]]:
    """A place for datagrams, and what comes there: nothing yet, but its port is open."""
    for _ in range(20):
        with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as one:
            one.bind(("127.0.0.1", 0))
            where = Place(Way.UDP, *one.getsockname())
        source = chunks(where)
        with suppress(FeedProblem):  # somebody else took the port since
            assert next(source) is None
            return where, source
    raise AssertionError("every port was taken")


def test_a_datagram_is_whole_lines():
    where, source = open_port()
    with target(where) as sender:
        sender.send(Row((Name("a"),), (1.5,), 2.0))

    assert b'{"time": 2.0, "a": 1.5}\n' == next(c for c in source if c)
    source.close()  # type: ignore[attr-defined]


def test_a_port_that_is_taken_is_said():
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as other:
        other.bind(("127.0.0.1", 0))
        where = Place(Way.UDP, "127.0.0.1", other.getsockname()[1])
        with pytest.raises(FeedProblem, match="cannot be read: Address already in use"):
            next(chunks(where))


def test_a_connection_is_read_to_its_end(monkeypatch):
    """The target's server is opened before the target asks for it: nobody else can take the port,
    and who connects is not too early."""
    server = socket.create_server(("127.0.0.1", 0))
    where = Place(Way.TCP, *server.getsockname())
    asked: list[object] = []
    monkeypatch.setattr(
        socket, "create_server", lambda at, family: asked.append((at, family)) or server
    )

    def send() -> None:
        with target(where) as sender:
            for n in range(3):
                sender.send(Row((Name("a", "V"),), (float(n),), n / 2))

    sending = threading.Thread(target=send)
    sending.start()
    got = b"".join(c for c in chunks(where) if c)
    sending.join()

    assert [(("127.0.0.1", where.number), socket.AF_INET)] == asked
    assert b"time [s],a [V]\n0.000,0\n0.500,1\n1.000,2\n" == got


def test_a_connection_that_is_refused_is_said():
    with socket.socket() as held:  # nobody listens there, and nobody else can
        held.bind(("127.0.0.1", 0))
        where = Place(Way.TCP, "127.0.0.1", held.getsockname()[1])
        with pytest.raises(FeedProblem, match="cannot be read: Connection refused"):
            next(chunks(where))


def test_a_serial_port_is_read():
    """A pseudo terminal is a serial port to pyserial."""
    master, slave = pty.openpty()
    source = chunks(Place(Way.SERIAL, os.ttyname(slave), 9600))
    assert next(source) is None  # it is open now; opening it empties it
    os.write(master, b"a,b\n")
    got = next(c for c in source if c)
    while len(got) < 4:
        got += next(source) or b""
    source.close()  # type: ignore[attr-defined]
    os.close(master)
    os.close(slave)

    assert b"a,b\n" == got


def test_a_serial_port_that_is_not_there_is_said():
    with pytest.raises(FeedProblem, match="serial port /dev/nowhere cannot be read"):
        next(chunks(place("serial:/dev/nowhere")))


def test_the_standard_input_is_read_and_waited_for():
    code = (
        "from callout.gauges.feed.places import place;"
        "from callout.gauges.feed.sources import chunks;"
        "print([c for c in chunks(place('-'))])"
    )
    with subprocess.Popen(
        [sys.executable, "-c", code], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    ) as child:
        out, _ = child.communicate("a,b\n", timeout=120)

    assert "b'a,b\\n'" in out


def test_a_recording_gives_every_number_back():
    """As Python's own repr does: the fewest digits that give the same number."""
    row = Row((Name("a", "V"), Name("b")), (0.1 + 0.2, None), 12.0)
    later = Row(row.names, (1e300, float("nan")), 12.125)
    lines = [text for one in (row, later) for text in Written().lines(one, 0.0)][:2]
    written = Written()
    text = [line for one in (row, later) for line in written.lines(one, 0.0)]

    assert ["time [s],a [V],b", "0.000,0.30000000000000004,"] == lines
    assert "0.125,1e+300,nan" == text[2]
    parser = Parser()
    back = [parser.line(line.encode()) for line in text]
    assert back[1] == row._replace(time=0.0)


def test_a_line_without_a_time_gets_ours():
    written = Written()
    text = [
        line
        for came in (5.0, 5.25)
        for line in written.lines(Row((Name("a"),), (1.0,), None), came)
    ]

    assert ["time [s],a", "0.000,1", "0.250,1"] == text


def test_a_row_as_json_is_a_row_again():
    row = Row((Name("a", "V"), Name("b")), (1.5, None), 2.0)

    assert row == Parser().line(as_json(row).encode())


def test_a_file_s_lines_are_numbered_and_what_is_wrong_is_said(tmp_path: Path):
    file = tmp_path / "feed.csv"
    file.write_text("time,a\n0,1\nx\n1,2", encoding="utf-8")

    assert [
        (1, None, ""),
        (2, Row((Name("a"),), (1.0,), 0.0), ""),
        (3, None, "it has 1 columns; the head has 2"),
        (4, Row((Name("a"),), (2.0,), 1.0), ""),
    ] == [tuple(one) for one in rows(file)]
