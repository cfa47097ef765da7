"""The practice book, what is due next, and the training record."""

import io
import sqlite3
from datetime import UTC, datetime, timedelta
from xml.etree import ElementTree

import pytest
from click.testing import CliRunner
from fsrs import Card, Rating, Scheduler
from practice_rig import HELPER, PILOT, REEDLARK, drills, practise
from pypdf import PdfReader

from callout.benches.trainees import Manner
from callout.cli.main import main
from callout.logbook.errors import LogbookError
from callout.trainer.figures import figure
from callout.trainer.plotting import drill_picture, progress_picture
from callout.trainer.printing import page, paper
from callout.trainer.schedule import next_of, standing
from callout.trainer.signals import SIGNALS
from callout.trainer.store import PracticeBook
from callout.trainer.telling import debrief_values, record_values

BEGAN = datetime(2026, 3, 1, 9, 0, tzinfo=UTC)
COURSE = [one.drill for one in sorted(drills().values(), key=lambda one: one.drill.order)]


@pytest.fixture(scope="module")
def results():
    late = Manner(late=frozenset({"closed"}))
    return {
        "good": practise(drills()["hot-start"], (PILOT,)).result,
        "late": practise(drills()["hot-start"], (PILOT,), late).result,
        "coached": practise(drills()["hot-start"], (PILOT,), coached=True).result,
        "signals": practise(drills()["no-intercom"], (HELPER,)).result,
    }


def book_of(tmp_path, results, *names, days=1):
    book = PracticeBook(tmp_path / "book.db")
    one = drills()["hot-start"].aircraft
    for place, name in enumerate(names):
        at = BEGAN + timedelta(days=days * place)
        book.add("robin", one.aircraft, one.fingerprint, results[name], at)
    return book


def test_what_was_practised_comes_back_as_it_was_written(tmp_path, results):
    (entry,) = book_of(tmp_path, results, "late").entries("robin", "Reedlark")
    assert (62, True, False) == (entry.percent, entry.critical_missed, entry.coached)
    assert results["late"].mattered == entry.result["mattered"]
    assert BEGAN == entry.at


def test_each_person_has_his_own_practice(tmp_path, results):
    book = book_of(tmp_path, results, "good")
    assert () == book.entries("kim", "Reedlark")
    assert ("robin",) == book.people()


@pytest.mark.parametrize("order", ["DELETE FROM practice", "UPDATE practice SET percent = 100"])
def test_practice_is_never_changed_or_deleted(tmp_path, results, order):
    book = book_of(tmp_path, results, "late")
    with sqlite3.connect(book.path) as db, pytest.raises(sqlite3.IntegrityError, match="never"):
        db.execute(order)
    db.close()


def test_another_file_is_refused_in_a_sentence(tmp_path):
    path = tmp_path / "other.db"
    db = sqlite3.connect(path)
    db.execute("CREATE TABLE t (x)")
    db.commit()
    db.close()
    with pytest.raises(LogbookError, match="not a practice book"):
        PracticeBook(path)
    path.write_text("this is no database at all, whatever its name says", encoding="utf-8")
    with pytest.raises(LogbookError, match="cannot be used"):
        PracticeBook(path)


def test_a_book_of_a_newer_program_is_refused(tmp_path, results):
    book = book_of(tmp_path, results, "good")
    db = sqlite3.connect(book.path)
    db.execute("PRAGMA user_version = 99")
    db.close()
    with pytest.raises(LogbookError, match="newer callout"):
        PracticeBook(book.path)


def test_due_dates_are_those_of_the_reference_scheduler(tmp_path, results):
    """The fsrs library itself, fed by hand with what the scores stand for."""
    entries = book_of(tmp_path, results, "coached", "late", "good", days=4).entries(
        "robin", "Reedlark"
    )
    scheduler = Scheduler(enable_fuzzing=False, maximum_interval=180)
    card = Card(card_id=1, due=BEGAN)
    for place, rating in enumerate((Rating.Hard, Rating.Again, Rating.Easy)):
        card, _ = scheduler.review_card(card, rating, BEGAN + timedelta(days=4 * place))
    found = {one.drill: one for one in standing(COURSE, "pilot", entries, BEGAN)}
    assert card.due == found["hot-start"].due
    assert (3, 100) == (found["hot-start"].times, found["hot-start"].last)


def test_first_comes_the_course_in_its_order_then_what_is_due(tmp_path, results):
    assert "start-with-ground-power" == next_of(standing(COURSE, "pilot", (), BEGAN), BEGAN).drill
    entries = book_of(tmp_path, results, "late").entries("robin", "Reedlark")
    soon = BEGAN + timedelta(minutes=2)
    assert "hot-start" == next_of(standing(COURSE, "pilot", entries, soon), soon).drill
    at_once = BEGAN + timedelta(seconds=10)
    found = next_of(standing(COURSE, "pilot", entries, at_once), at_once)
    assert "start-with-ground-power" == found.drill


def test_a_critical_call_that_was_lost_comes_back_before_a_perfect_drill(tmp_path, results):
    def due(name):
        folder = tmp_path / name
        folder.mkdir()
        entries = book_of(folder, results, name).entries("robin", "Reedlark")
        return next(
            one.due for one in standing(COURSE, "pilot", entries, BEGAN) if one.drill == "hot-start"
        )

    assert due("late") < due("coached") < due("good")


def test_next_says_what_is_due_and_runs_nothing(tmp_path):
    words = ["train", str(REEDLARK), "--next", "--book", str(tmp_path / "book.db")]
    done = CliRunner().invoke(main, words, catch_exceptions=False)
    assert "-> start-with-ground-power" in done.output


def test_a_drill_that_is_not_there_is_told_with_the_nearest(tmp_path):
    words = ["train", str(REEDLARK), "--drill", "hot-strat", "--book", str(tmp_path / "b.db")]
    done = CliRunner().invoke(main, words)
    assert 2 == done.exit_code
    assert 'There is no drill "hot-strat"; did you mean "hot-start"?' in done.output


def text_of(pdf):
    return " ".join(part.extract_text() for part in PdfReader(io.BytesIO(pdf)).pages)


def test_the_record_says_what_was_practised_and_that_it_certifies_nothing(tmp_path, results):
    aircraft = drills()["hot-start"].aircraft.aircraft
    entries = book_of(tmp_path, results, "late", "good").entries("robin", "Reedlark")
    now = BEGAN + timedelta(days=9)
    values = record_values("robin", aircraft, entries, standing(COURSE, "pilot", entries, now), now)
    text = " ".join(text_of(paper("record", values)).split())
    for wanted in ("Training record of robin", "It certifies nothing", "62 %", "2026-03-01",
                   "a critical call was lost", "invented"):  # fmt: skip
        assert wanted in text
    assert "It certifies nothing" in page("record", values)


def test_the_record_of_nobody_is_empty_and_still_says_so(tmp_path):
    file = tmp_path / "record.pdf"
    words = ["train", str(REEDLARK), "--record", str(file), "--book", str(tmp_path / "b.db")]
    assert 0 == CliRunner().invoke(main, words, catch_exceptions=False).exit_code
    assert "Nothing yet" in text_of(file.read_bytes())


def test_progress_is_drawn_alone(tmp_path, results):
    book = book_of(tmp_path, results, "late", "good")
    file = tmp_path / "progress.svg"
    words = [
        "train",
        str(REEDLARK),
        "--who",
        "robin",
        "--record",
        str(file),
        "--book",
        str(book.path),
    ]
    assert 0 == CliRunner().invoke(main, words, catch_exceptions=False).exit_code
    assert "hot start (pilot)" in file.read_text(encoding="utf-8")


def test_the_debrief_tells_calls_windows_and_what_was_said_when(tmp_path, results):
    (entry,) = book_of(tmp_path, results, "late").entries("robin", "Reedlark")
    one = drills()["hot-start"]
    values = debrief_values(entry, one.drill, one.aircraft.aircraft)
    text = " ".join(text_of(paper("debrief", values)).split())
    assert "Fuel lever closed came 1.5 seconds late" in text
    assert "rising." in text
    html = page("debrief", values)
    assert "5 s (gauges/exhaust-temperature/limits/start/transient/for)" in html
    assert "http" not in html.replace("http://www.w3.org", "")


def test_words_of_a_drill_are_never_markup(tmp_path, results):
    (entry,) = book_of(tmp_path, results, "late").entries("robin", "Reedlark")
    one = drills()["hot-start"]
    values = debrief_values(entry, one.drill, one.aircraft.aircraft)
    values["mattered"] = "<script>alert(1)</script> #panic() *bold*"
    assert "<script>alert" not in page("debrief", values)
    assert "#panic() *bold*" in text_of(paper("debrief", values))


def test_hand_signals_of_the_drill_are_drawn_and_say_where_they_come_from(tmp_path, results):
    book = PracticeBook(tmp_path / "book.db")
    one = drills()["no-intercom"]
    book.add("robin", one.aircraft.aircraft, "f", results["signals"], BEGAN)
    (entry,) = book.entries("robin", "Reedlark")
    values = debrief_values(entry, one.drill, one.aircraft.aircraft)
    assert list(one.drill.signals) == [
        next(name for name, it in SIGNALS.items() if it.means == shown["means"])
        for shown in values["signals"]
    ]
    assert all("from memory" in shown["source"] for shown in values["signals"])


@pytest.mark.parametrize("name", sorted(SIGNALS))
def test_every_signal_stays_on_its_sheet(name):
    import re

    svg = figure(SIGNALS[name])
    numbers = re.findall(r"[ML](-?[0-9.]+) (-?[0-9.]+)", svg)
    assert all(0 <= float(x) <= 180 and 0 <= float(y) <= 190 for x, y in numbers)


def test_pictures_are_svg_and_show_each_call_with_its_outcome(tmp_path, results):
    aircraft = drills()["hot-start"].aircraft.aircraft
    entries = book_of(tmp_path, results, "late", "good").entries("robin", "Reedlark")
    late, good = (drill_picture(entry.result, aircraft) for entry in entries)
    for svg in (late, good, progress_picture(entries)):
        assert "svg" in ElementTree.fromstring(svg).tag
    assert "fuel lever closed (late)" in late
    assert "fuel lever closed (in time)" in good
