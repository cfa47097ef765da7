"""What machines wrote is on the server once: in their order, whatever breaks when.

The server is real and is asked by psql where it matters how often a row is there.
"""

from __future__ import annotations

import random
from decimal import Decimal

import pytest
from logbook_samples import begin, happened, stamp
from postgres_server import running

from callout.engine.effects import Record
from callout.engine.events import Reading
from callout.logbook import codec
from callout.logbook.delivering import AT_ONCE, CLIPS_AT_ONCE, Delivery
from callout.logbook.errors import LogbookError, ServerLostError
from callout.logbook.store import Logbook


def plain(logbook, number):
    """A session without the numbers under which its rows are kept."""
    row = logbook.session(number)
    entries = list(logbook.entries(number))
    place = {entry.seq: n for n, entry in enumerate(entries)}
    return (
        (row.aircraft, row.file, row.began, row.last, row.ended, row.how),
        [(place.get(e.event), e.kind, e.name, e.about, e.data, e.stamp) for e in entries],
        [(sum(seq <= after for seq in place), noted) for after, noted in logbook.samples(number)],
        list(logbook.select("SELECT name, format, began, seconds, sound, now FROM clips "
                            "WHERE session = ? ORDER BY piece", number)),
        list(logbook.select("SELECT squawk, what, who, how FROM acts WHERE session = ? "
                            "ORDER BY act", number)),
    )  # fmt: skip


def writes(logbook, name="Reedlark"):
    """A session, step by step: each `next` writes something more."""
    session = logbook.begin(name, "1", "invented.yaml", "abc", stamp())
    yield session
    when = (4.0, stamp().wall, 4.0, "")
    for n, (event, facts) in enumerate(happened()):
        logbook.note(session, Reading("volts", Decimal("24.125"), n), n + 0.25)
        if n % 2:
            logbook.settle(stamp(n + 0.25))
            yield session
        logbook.append(session, event, facts, stamp(n + 0.5))
        yield session
    with logbook.writing():
        for k in range(3):
            logbook.put("clips", (None, session, "1", "flac", k, 1.0, bytes(5000) + b"x", *when))
        logbook.put("acts", (None, session, 1, "closed", "pilot", "by hand", *when))
    yield session
    logbook.finish(session, "ended", stamp(10))
    yield session


def test_a_session_is_delivered_as_it_goes_and_each_row_once(tmp_path, database):
    with Logbook.open(tmp_path / "own.db") as own, Logbook.open(database) as server:
        begin(server)  # numbers there are not those here
        delivery = Delivery(own, server)
        for session in writes(own):
            delivery.deliver()
            here = delivery.number_of(session)
            assert 2 == here
            assert plain(own, session)[1:3] == plain(server, here)[1:3]
        assert plain(own, session) == plain(server, here)
        assert 0 == delivery.deliver()
        assert 0 == Delivery(own, server).deliver()
        assert plain(own, session) == plain(server, here)


def test_recordings_wait_for_the_end_of_their_session(tmp_path, database):
    """One that is taken back is then nowhere but here, and is removed here."""
    with Logbook.open(tmp_path / "own.db") as own, Logbook.open(database) as server:
        for session in writes(own):
            Delivery(own, server).deliver()
            ended = own.session(session).ended is not None
            assert ended or 0 == next(server.select("SELECT count(*) FROM clips"))[0]
        assert 3 == next(server.select("SELECT count(*) FROM clips"))[0]


@pytest.mark.parametrize("seed", range(2))
def test_two_machines_and_a_server_that_comes_and_goes(tmp_path, seed):
    """At random: write, deliver, cut the server off; in the end each row is there once."""
    chance = random.Random(seed)
    with running() as postgres:
        place = postgres.database("club")
        files = [Logbook.open(tmp_path / f"{n}.db") for n in range(2)]
        sessions = [[writes(own, f"machine {n}") for _ in range(3)] for n, own in enumerate(files)]
        lost = 0
        up = True
        while any(sessions):
            n = chance.randrange(2)
            if sessions[n] and next(sessions[n][0], None) is None:
                sessions[n].pop(0)
            if chance.random() < 0.08:
                (postgres.stop if up else postgres.start)()
                up = not up
            if chance.random() < 0.5:
                try:
                    with Logbook.open(place) as server:
                        Delivery(files[n], server).deliver()
                except ServerLostError:
                    lost += 1
        if not up:
            postgres.start()
        with Logbook.open(place) as server:
            for own in files:
                delivery = Delivery(own, server)
                delivery.deliver()
                assert [1, 2, 3] == own.numbers()
                for number in own.numbers():
                    here = delivery.number_of(number)
                    assert plain(own, number) == plain(server, here)
        for own in files:
            own.close()
        assert (
            "6|6"
            == postgres.sql(
                "club", "SELECT count(*), count(DISTINCT (writer, number)) FROM origins"
            ).strip()
        )
        assert lost > 0 or seed  # the first of these searches does cut it off in between


def test_a_commit_whose_answer_was_lost_is_not_brought_again(tmp_path, database):
    """The server had it; the machine never knew: what was written down there decides."""
    with Logbook.open(tmp_path / "own.db") as own:
        for _ in writes(own):
            with Logbook.open(database) as server:  # a new connection knows nothing of before
                Delivery(own, server).deliver()
        with Logbook.open(database) as server:
            assert plain(own, 1) == plain(server, 1)


def test_more_than_one_transaction_keeps_events_and_their_facts_together(tmp_path, database):
    with Logbook.open(tmp_path / "own.db") as own, Logbook.open(database) as server:
        session = begin(own)
        many = [Record("ticked", f"a/{n}", (("answer", "on"),)) for n in range(7)]
        rows = []
        for event in range(AT_ONCE // 4):
            rows.append((8 * event + 1, session, None, "event", "Clock", "", "{}", 0.0,
                         stamp().wall, 0.0, ""))  # fmt: skip
            rows += [
                (8 * event + 2 + n, session, 8 * event + 1, "fact", one.fact, one.about,
                 codec.to_text(one), 0.0, stamp().wall, 0.0, "")
                for n, one in enumerate(many)
            ]  # fmt: skip
        with own.writing():
            own.put_all("entries", rows)
        own.note(session, Reading("volts", Decimal(1), 0.0), 0.0)
        own.finish(session, "ended", stamp(5))
        Delivery(own, server).deliver()
        assert len(rows) == 2 * AT_ONCE
        assert plain(own, session) == plain(server, 1)


def test_an_older_copy_put_back_is_refused_instead_of_mixed(tmp_path, database):
    with Logbook.open(database) as server:
        with Logbook.open(tmp_path / "own.db") as own:
            (tmp_path / "old.db").write_bytes((tmp_path / "own.db").read_bytes())
            for _ in writes(own):
                Delivery(own, server).deliver()
        with Logbook.open(tmp_path / "old.db") as old:
            list(old.select("DELETE FROM identity RETURNING id"))
            theirs = next(server.select("SELECT writer FROM origins"))[0]
            list(old.select("INSERT INTO identity VALUES (?) RETURNING id", theirs))
            old.begin("Other", "1", "x.yaml", "abc", stamp(77))
            delivery = Delivery(old, server)
            delivery._done.clear()
            with pytest.raises(LogbookError, match="an older copy of the file put back"):
                delivery.deliver()
        assert [1] == server.numbers()


def test_recordings_of_several_transactions_come_though_the_first_was_the_last(tmp_path, database):
    """What ends a session goes last: a machine that is new to it takes it for whole."""
    with Logbook.open(tmp_path / "own.db") as own, Logbook.open(database) as server:
        session, when = begin(own), (4.0, stamp().wall, 4.0, "")
        with own.writing():
            for k in range(2 * CLIPS_AT_ONCE + 1):
                own.put("clips", (None, session, "1", "flac", k, 1.0, b"sound", *when))
        own.finish(session, "ended", stamp(5))
        Delivery(own, server)._some(session)  # then its connection broke
        assert server.session(1).ended is None
        Delivery(own, server).deliver()
        assert plain(own, session) == plain(server, 1)


def test_what_was_brought_when_it_was_enough_is_there_and_the_rest_comes_later(tmp_path, database):
    with Logbook.open(tmp_path / "own.db") as own, Logbook.open(database) as server:
        for _ in range(2):
            list(writes(own))
        with pytest.raises(ServerLostError, match="is slow"):
            Delivery(own, server).deliver(lambda: True)
        assert [1] == server.numbers()
        Delivery(own, server).deliver()
        assert [plain(own, n) for n in (1, 2)] == [plain(server, n) for n in (1, 2)]
