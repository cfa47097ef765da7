"""A logbook of several machines: each squawk keeps its name, and counts are those of them all."""

from __future__ import annotations

import random

import pytest
from logbook_history_rig import PLANE, at, wrote
from logbook_samples import begin, stamp

from callout.engine.effects import Record
from callout.engine.events import Clock, SessionOpened
from callout.logbook import squawks
from callout.logbook.checkpoint import trusted
from callout.logbook.delivering import Delivery
from callout.logbook.export import json_lines
from callout.logbook.history import past
from callout.logbook.import_read import read
from callout.logbook.importing import take_in
from callout.logbook.origins import Origins
from callout.logbook.store import Logbook


def opened(logbook, session, number=1):
    fact = Record("squawk opened", "walk-round/cap",
                  (("squawk", str(number)), ("where", "left"), ("called", "fuel cap")))  # fmt: skip
    logbook.append(session, Clock(), [fact], stamp(1))


def closed(logbook, session, key):
    fact = Record("squawk closed", "walk-round/cap", (("squawk", key), ("how", "mended")))
    logbook.append(session, Clock(), [fact], stamp(2))


def test_a_squawk_is_closed_by_the_machine_that_heard_of_it_and_no_other(tmp_path, database):
    """Two machines, each with a session 1 and a squawk 1 in it; the names do not clash."""
    with (
        Logbook.open(database) as server,
        Logbook.open(tmp_path / "a.db") as a,
        Logbook.open(tmp_path / "b.db") as b,
    ):
        for own in (a, b):
            session = begin(own)
            opened(own, session)
            Delivery(own, server).deliver()
        assert ["open", "open"] == [one.state for one in squawks.squawks(server)]
        delivery = Delivery(b, server)
        names = [
            Origins(server).theirs(delivery.identity, one.key) for one in squawks.squawks(server)
        ]
        assert ["@1.1", "1.1"] == names

        later = begin(b)
        closed(b, later, names[0])  # that of machine a, by its name on the server
        Delivery(b, server).deliver()
        assert ["closed", "open"] == [one.state for one in squawks.squawks(server)]
        closed(b, later, names[1])
        Delivery(b, server).deliver()
        assert ["closed", "closed"] == [one.state for one in squawks.squawks(server)]
        assert ["open"] == [one.state for one in squawks.squawks(a)]


def test_a_squawk_keeps_its_name_through_an_import_that_changes_the_numbers(tmp_path):
    with Logbook.open(tmp_path / "theirs.db") as theirs:
        opened(theirs, begin(theirs))
        opened(theirs, begin(theirs, "second.yaml"))
        closed(theirs, begin(theirs, "third.yaml"), "2.1")
        (tmp_path / "file").write_text("".join(json_lines(theirs, theirs.numbers())))
    with Logbook.open(tmp_path / "ours.db") as ours:
        for n in range(2):
            opened(ours, begin(ours, f"ours{n}.yaml"))
        take_in(ours, tmp_path / "file", read(tmp_path / "file"))
        assert {"1.1": "open", "2.1": "open", "3.1": "open", "4.1": "closed"} == {
            one.key: one.state for one in squawks.squawks(ours)
        }


def flown(own, server, minutes, fact="counted", deliver=True, fingerprint="abc"):
    """A session of a machine as `callout run` does it; gives what it was told."""
    number = own.begin(PLANE.name, "1", "x.yaml", fingerprint, at(minutes, boot=f"{minutes}"))
    told = None
    if deliver:
        delivery = Delivery(own, server)
        delivery.deliver()
        with server.snapshot():
            upto = delivery.latest()
            told = past(server, PLANE, delivery.number_of(number), at(minutes, boot=f"{minutes}"))
        delivery.looked(number, upto)
    first = SessionOpened((), told.tallies if told else ())
    own.append(number, first, [], at(minutes, boot=f"{minutes}"))
    wrote(own, number, at(minutes + 1, boot=f"{minutes}"), fact, counter="charge", to="0")
    own.finish(number, "ended", at(minutes + 2, boot=f"{minutes}"))
    if deliver:
        Delivery(own, server).deliver()
    return told


def everything(server, minutes):
    """What reading all of it gives: no session has that fingerprint."""
    return past(server, PLANE, 0, at(minutes, boot="now"), "none")


@pytest.mark.parametrize("seed", range(3))
def test_what_is_told_from_the_latest_session_is_what_reading_everything_gives(
    tmp_path, database, seed
):
    """Two machines in turn, some of whose sessions come late."""
    chance = random.Random(seed)
    with (
        Logbook.open(database) as server,
        Logbook.open(tmp_path / "a.db") as a,
        Logbook.open(tmp_path / "b.db") as b,
    ):
        quick = 0
        for n in range(8):
            fact = chance.choice(["counted", "counted", "count set back"])
            flown(chance.choice([a, b]), server, 100 * n, fact, deliver=chance.random() < 0.8)
            now = at(100 * n + 50, boot="now")
            assert everything(server, 100 * n + 50) == past(server, PLANE, 0, now, "abc")
            quick += trusted(server, PLANE.name, 0, "abc") is not None
        for own in (a, b):
            Delivery(own, server).deliver()
        assert everything(server, 900) == past(server, PLANE, 0, at(900, boot="now"), "abc")
        assert quick > 0
