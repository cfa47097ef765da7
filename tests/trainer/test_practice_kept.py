"""Drills that are cut short, and two people with a book each.

Rule of this file: the real drill and book; a drill that is killed is one that simply goes
on no more, for each call was committed when it came.
"""

import sqlite3
from datetime import UTC, datetime

import pytest
from click.testing import CliRunner
from practice_rig import HELPER, PILOT, REEDLARK, drills, practise
from pypdf import PdfReader
from test_drill_session import Driver

from callout.benches.trainees import Manner
from callout.cli.main import main
from callout.engine.events import Lost, Restored, SessionOpened, Stopped
from callout.logbook.errors import LogbookError
from callout.running.train_book import BROKE_OFF, BookKeeper, broke_off
from callout.running.train_choice import Wanted, choose
from callout.trainer.scoring import own
from callout.trainer.session import DrillSession, Practice
from callout.trainer.store import PracticeBook
from callout.trainer.store_tables import TABLES

BOTH = (PILOT, HELPER)


@pytest.fixture
def book(tmp_path):
    return PracticeBook(tmp_path / "book.db")


def begun(book, people=("kim",), roles=(PILOT,), name="hot-start"):
    driver = Driver(name, roles)
    keeper = BookKeeper(book, people, drills()[name])
    keeper.goes_on(driver.session)
    return driver, keeper


def with_one_call(book, **how):
    driver, keeper = begun(book, **how)
    driver.say_all(2)
    driver.wait(0.2)
    driver.hear("starter engaged")
    keeper.goes_on(driver.session)
    return driver, keeper


def test_a_drill_that_is_killed_leaves_what_it_had_come_to(book):
    with_one_call(book)
    cut = PracticeBook(book.path).last_attempt("kim", "Reedlark")
    assert (1, 1, 6, False) == (cut.calls, cut.in_time, cut.of, cut.ended)
    assert () == book.entries("kim", "Reedlark")
    assert broke_off(book, "kim", "Reedlark") == (
        "hot start (pilot) was cut short after 1 of 6 calls, 1 of them in time. It is not counted."
    )


def test_a_drill_that_somebody_ended_is_told_then_and_not_again(book):
    driver, keeper = with_one_call(book)
    driver.do(Stopped("stopped at the keyboard"))
    keeper.goes_on(driver.session)
    assert book.last_attempt("kim", "Reedlark").ended
    assert "" == broke_off(book, "kim", "Reedlark")


def test_a_drill_that_was_gone_through_was_not_cut_short(book):
    keeper = BookKeeper(book, ("kim",), drills()["hot-start"])
    session = practise(drills()["hot-start"], (PILOT,), keep=keeper.practised)
    keeper.goes_on(session)
    assert None is book.last_attempt("kim", "Reedlark")


def test_the_book_says_so_where_a_drill_was_counted_after_it_was_begun(book):
    driver, keeper = with_one_call(book)
    keeper.practised(driver.session.result)
    assert None is book.last_attempt("kim", "Reedlark")
    assert () == book.cut_short("kim", "Reedlark")


def test_a_book_that_cannot_be_written_is_told_once_and_not_waited_for_again(book):
    driver, keeper = begun(book)
    book.path.unlink()
    book.path.mkdir()
    driver.do(Stopped("stopped at the keyboard"))
    with pytest.raises(LogbookError, match="cannot be used"):
        keeper.goes_on(driver.session)
    keeper.goes_on(driver.session)


def test_the_next_drill_says_that_the_last_one_broke_off():
    loaded = drills()["hot-start"]
    session = DrillSession(
        loaded.drill, loaded.aircraft.aircraft, Practice((PILOT,), news=BROKE_OFF)
    )
    driver = Driver("hot-start", (PILOT,))
    driver.session, driver.effects = session, []
    driver.do(SessionOpened())
    assert BROKE_OFF in session.state.timeline[0].text


def test_the_record_lists_what_was_cut_short(book, tmp_path):
    with_one_call(book)
    file = tmp_path / "record.pdf"
    words = ["train", str(REEDLARK), "--record", str(file), "--who", "kim",
             "--book", str(book.path)]  # fmt: skip
    assert 0 == CliRunner().invoke(main, words, catch_exceptions=False).exit_code
    text = " ".join(PdfReader(file).pages[0].extract_text().split())
    assert "1 of 6 calls, 1 in time broke off" in text
    assert "These do not count." in text


def test_a_book_of_the_first_version_is_taken_on(tmp_path):
    path = tmp_path / "old.db"
    with sqlite3.connect(path) as db:
        db.executescript(f"{TABLES} PRAGMA application_id = {0x636F7072}; PRAGMA user_version = 1;")
    db.close()
    with_one_call(PracticeBook(path))
    assert 1 == PracticeBook(path).last_attempt("kim", "Reedlark").calls


def test_a_microphone_that_is_lost_holds_the_drill_and_nothing_is_missed_meanwhile():
    driver = Driver("hot-start", (PILOT,))
    driver.say_all(2)
    driver.wait(0.2)
    driver.do(Lost("microphone", "unplugged"))
    driver.wait(60)
    driver.do(Restored("microphone"))
    driver.hear("starter engaged")
    assert ["hit"] == [mark.standing.value for mark in driver.session.state.marks[1:2]]
    told = [one.text for one in driver.session.state.timeline]
    assert "A microphone is lost. The drill is held." in told


def test_two_people_have_each_his_own_score_in_his_own_book(book):
    loaded = drills()["start-with-ground-power"]
    late = Manner(late=frozenset({"fuel"}), wrong=frozenset({"line-3"}))
    assert HELPER is loaded.drill.line("line-3").who
    keeper = BookKeeper(book, ("kim", "robin"), loaded)
    result = practise(loaded, BOTH, late, keep=keeper.practised).result
    (kim,), (robin,) = book.entries("kim", "Reedlark"), book.entries("robin", "Reedlark")
    assert ("pilot", "helper") == (kim.roles, robin.roles)
    lost = {who: {one["line"] for one in entry.result["calls"] if one["outcome"] != "in time"}
            for who, entry in (("kim", kim), ("robin", robin))}  # fmt: skip
    assert {"kim": {"fuel"}, "robin": {"line-3"}} == lost
    assert [] == kim.result["false_calls"]
    assert ["understood"] == [one["words"] for one in robin.result["false_calls"]]
    assert result.of == own(result, loaded.drill, PILOT).of + own(result, loaded.drill, HELPER).of


def test_a_pair_counts_for_neither_where_one_was_late():
    loaded = drills()["start-with-ground-power"]
    result = practise(loaded, BOTH, Manner(late=frozenset({"area-helper"}))).result
    pilot = own(result, loaded.drill, PILOT)
    assert [0] == [one.points for one in pilot.calls if one.line == "area-pilot"]
    assert 100 > pilot.percent


def test_what_two_people_practise_is_new_to_one_of_them_as_long_as_it_is_new(book):
    now = datetime(2026, 3, 1, tzinfo=UTC)
    known = sorted(drills().values(), key=lambda one: one.drill.order)
    first = known[0]
    keeper = BookKeeper(book, ("kim",), first)
    practise(first, (PILOT,), keep=keeper.practised)
    books = [book.entries("kim", "Reedlark"), ()]
    picked, practice = choose(known, Wanted(BOTH), books, now)
    assert (first.drill.id, True) == (picked.drill.id, practice.coached)


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["--who", "kim", "--who", "robin"], "only with --role both"),
        (["--role", "both", "--who", "kim", "--who", "kim"], "give it once"),
        (["--role", "both", "--who", "kim", "--who", "robin", "--next"], "give --who once"),
    ],
)
def test_names_that_do_not_fit_are_told(words, told, book):
    done = CliRunner().invoke(main, ["train", str(REEDLARK), "--book", str(book.path), *words])
    assert 2 == done.exit_code
    assert told in done.output
