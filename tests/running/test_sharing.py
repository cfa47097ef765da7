"""`callout run` with a logbook on a server: two machines, and a server that goes away.

The program itself, in real time, each machine with a folder of its own; a real server.
"""

from __future__ import annotations

import threading

import pytest
from click.testing import CliRunner
from postgres_server import running
from test_taking_up import NAMES, Program, aircraft

from callout.cli.main import main
from callout.engine.events import Restored
from callout.logbook.delivering import Delivery
from callout.logbook.stamp import Stamp
from callout.logbook.store import Logbook
from callout.running.sharing import Sharing


@pytest.fixture
def machine(tmp_path, monkeypatch):
    """Become a machine of this name: the programs started from then on are its own."""

    def become(name: str) -> None:
        home = tmp_path / name
        home.mkdir(exist_ok=True)
        monkeypatch.setenv("XDG_DATA_HOME", str(home))
        monkeypatch.setenv("HOME", str(home))

    return become


def answered(program: Program, names=NAMES) -> None:
    """Every item from there on, and the end of the session."""
    for name in names:
        program.read_until(f"{name} lever?".capitalize())
        program.type(f"{name} closed")
    program.read_until("Session ended.")


def ticked(place) -> list[list[str]]:
    """What each session on the server ticked."""
    with Logbook.read(place) as logbook:
        return [
            [fact.about.split("/")[1] for _, fact in logbook.facts(n) if fact.fact == "ticked"]
            for n in logbook.numbers()
        ]


def stamp() -> Stamp:
    return Stamp(0.0, "2026-01-01T10:00:00+00:00", 0.0, "")


def run(*words: str):
    return CliRunner().invoke(main, list(words))


def test_two_machines_at_once_write_one_logbook(tmp_path, machine, database):
    file = aircraft(tmp_path)
    programs = []
    for name in ("hangar", "apron"):
        machine(name)
        programs.append(Program(file, database.url))
    threads = [threading.Thread(target=answered, args=(one,)) for one in programs]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    assert [0, 0] == [one.close() for one in programs]
    assert [list(NAMES)] * 2 == ticked(database)
    with Logbook.read(database) as logbook:
        assert ["ended", "ended"] == [row.how for row in logbook.sessions()]
        assert logbook.unfinished() is None
    done = run("log", "--logbook", database.url)
    assert done.stdout.count("Test rig") == 2


def test_a_server_lost_in_mid_session_is_told_and_has_all_of_it_in_the_end(tmp_path, machine):
    file = aircraft(tmp_path)
    machine("hangar")
    with running() as server:
        place = server.database("club")
        program = Program(file, place.url)
        program.read_until("Alpha lever?")
        program.type("alpha closed")
        program.read_until("Bravo lever?")
        server.stop()
        assert "Logbook server lost." in program.read_until("Logbook server lost.")
        program.type("bravo closed")  # the list goes on
        program.read_until("Charlie lever?")
        server.start()
        program.read_until("Logbook server works again.")
        program.type("charlie closed")
        answered(program, NAMES[3:])
        assert 0 == program.close()
        assert [list(NAMES)] == ticked(place)
        with Logbook.read(place) as logbook:
            facts = [fact.fact for _, fact in logbook.facts(1)]
            assert 1 == facts.count("lost")
            assert 1 == facts.count("restored")


def test_a_session_without_its_server_is_kept_and_delivered_afterwards(tmp_path, machine):
    file = aircraft(tmp_path)
    machine("hangar")
    with running() as server:
        place = server.database("club")
        server.stop()
        program = Program(file, place.url)
        answered(program)
        stderr = program.process.stderr
        assert stderr is not None
        program.process.wait(120)
        told = stderr.read()
        assert "does not answer" in told
        assert f"callout log deliver --logbook {place}" in told
        assert 0 == program.close()
        words = ("log", "deliver", "--logbook", place.url)
        still = run(*words)
        assert 2 == still.exit_code
        assert "does not answer" in still.stderr
        server.start()
        assert run(*words).stdout.startswith("Delivered: ")
        assert [list(NAMES)] == ticked(place)
        assert "Everything was there already.\n" == run(*words).stdout
        machine("apron")
        assert "This machine has written nothing for this server.\n" == run(*words).stdout


def test_a_kill_is_taken_up_by_the_machine_that_ran_it_and_by_no_other(tmp_path, machine, database):
    file = aircraft(tmp_path)
    machine("hangar")
    first = Program(file, database.url)
    first.read_until("Alpha lever?")
    first.type("alpha closed")
    first.read_until("Bravo lever?")
    first.kill()
    machine("apron")
    other = Program(file, database.url)
    answered(other)
    assert 0 == other.close()
    machine("hangar")
    again = Program(file, database.url)
    told = again.read_until("Say resume.")
    assert "Interrupted for" in told
    again.type("resume")
    answered(again, NAMES[1:])
    assert 0 == again.close()
    assert [list(NAMES)] * 2 == ticked(database)


def test_a_look_at_a_slow_server_is_given_up_and_what_this_machine_wrote_is_told(
    tmp_path, database
):
    told, over = list[str](), threading.Event()
    with Logbook.open(tmp_path / "own.db") as own:
        session = own.begin("Test rig", "1", "rig.yaml", "abc", stamp())
        sharing = Sharing(tmp_path / "own.db", database, told.append, look=0.01)

        def slow(book: Logbook, number: int, by: str) -> tuple[object, int, str]:
            if by:  # on the server
                over.wait()
            return book.path, number, by

        looked_at = sharing.look(slow, own, session)
        over.set()

    assert (tmp_path / "own.db", session, "") == looked_at
    assert ["is slow" in one for one in told] == [True]


def test_a_defect_of_the_delivery_is_told_and_it_is_tried_again(tmp_path, database, monkeypatch):
    """Whatever is wrong in it, the session's thread never hears of it but as a loss."""
    told, heard, back = [], [], threading.Event()
    deliver, fails = Delivery.deliver, iter([True])

    def once(self, *words) -> int:
        if self._own.path == tmp_path / "own.db" and next(fails, False):
            raise KeyError("a row that is none")
        return deliver(self, *words)

    def hear(event) -> None:
        heard.append(type(event).__name__)
        if isinstance(event, Restored):
            back.set()

    monkeypatch.setattr(Delivery, "deliver", once)
    monkeypatch.setattr("callout.running.sharing.AGAIN", 0.01)
    with Logbook.open(tmp_path / "own.db") as own:
        own.begin("Test rig", "1", "rig.yaml", "abc", stamp())
        sharing = Sharing(tmp_path / "own.db", database, told.append)
        sharing.begin(hear)
        assert back.wait(60.0)
        sharing.stop()

    assert ["Lost", "Restored"] == heard
    assert [] == told
    with Logbook.read(database) as logbook:
        assert [1] == logbook.numbers()
