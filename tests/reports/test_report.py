"""`callout report`: what stands in it, and that it can be read on a phone and on paper."""

from __future__ import annotations

import html
import io
import re
import shutil
import subprocess
from html.parser import HTMLParser
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from pypdf import PdfReader
from report_rig import a_day, fact, heard, write

from callout.checklist.load import load
from callout.cli.main import main
from callout.engine.events import Clock
from callout.logbook.store import Logbook
from callout.logbook.whole import whole
from callout.reports.session import CAUTIONS, report
from callout.reports.values import CAUTION, WARNING, Line, Pair

EVIL = "<script>alert(1)</script>&\"'<img src=http://x.invalid/a> #sys.version *b* $x$ [l] _i_"

LIGHT_OFF = (
    "asked for at least 250\u00a0\u00b0C; never above 800\u00a0\u00b0C; "
    "above 740\u00a0\u00b0C for at most 5\u00a0s"
)
"""What the example's file says of the exhaust temperature in a start."""


def cli(*words: str) -> Result:
    return CliRunner().invoke(main, ["report", *words])


@pytest.fixture
def logbook(tmp_path: Path) -> Path:
    write(tmp_path / "log.db", a_day())
    return tmp_path / "log.db"


def made(path: Path, number: int = 1):
    with Logbook.read(path) as opened:
        return report(opened, whole(opened, number), load(Path(opened.session(number).file)))


class _Page(HTMLParser):
    """Words, tags and addresses of a page."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.addresses: list[str] = []
        self.words = ""
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        self.tags.append(tag)
        names = ("src", "srcset", "href", "action", "data", "background", "poster")
        self.addresses += [value or "" for name, value in attrs if name in names]

    def handle_data(self, data):
        if "style" not in self.tags[-1:]:
            self.words += data


def test_every_item_stands_with_its_answer_who_gave_it_and_how_long_it_took(logbook):
    walk, _ = made(logbook).lists

    assert "walk round" == walk.title
    assert "not complete" == walk.outcome
    assert [
        ("fuel lever", "closed", "answered", "pilot", "0:02", "0:09", "7.5", "6.5"),
        ("battery master", "", "deferred", "", "0:10", "", "", ""),
        ("static port", "", "overridden", "", "0:12", "", "", ""),
        ("fuel by the dipstick", "65\u00a0l", "answered", "pilot", "0:21", "0:30", "9.0", "8.0"),
    ] == [
        (i.call, i.answer, i.state, i.who, i.asked, i.answered, i.took, i.reacted)
        for i in walk.rows
    ]
    assert ("wrong answer: open",) == walk.rows[0].remarks
    assert ("reason: not fitted",) == walk.rows[2].remarks


def test_values_stand_against_the_limits_of_the_state_that_held(logbook):
    found = made(logbook)

    assert [
        ("fuel quantity", "31\u00a0l", "asked for at least 40\u00a0l",
         "not accepted: below 40\u00a0l", CAUTION),
        ("fuel quantity", "65\u00a0l", "asked for at least 40\u00a0l", "within", ""),
        ("exhaust temperature", "812.0\u00a0\u00b0C",
         LIGHT_OFF,
         "limit passed: above 800\u00a0\u00b0C", WARNING),
    ] == [(r.gauge, r.value, r.limits, r.verdict, r.grave) for r in found.spoken]  # fmt: skip
    assert [("exhaust temperature", "start", "705.5 to 812.0\u00a0\u00b0C", WARNING)] == [
        (r.gauge, r.when, r.value, r.grave) for r in found.measured
    ]


def test_what_was_called_overridden_left_open_and_counted_is_told(logbook):
    found = made(logbook)

    assert [
        Line("0:20", "overridden: walk round: static port; reason: not fitted", CAUTION),
        Line("0:40", "walk round not complete", CAUTION),
        Line("1:04", "limit passed: exhaust temperature 812.0\u00a0\u00b0C, "
                     "limit 800\u00a0\u00b0C", WARNING),
    ] == list(found.alerts)  # fmt: skip
    assert (Line("0:20", "walk round: static port; reason: not fitted"),) == found.overridden
    assert (Line("0:10", "walk round: battery master (deferred)"),) == found.left_open
    assert (Pair("start attempts", "2, 0:14 on"),) == found.counters
    assert Pair("lowest battery voltage", "17.4\u00a0V") in found.start


def test_a_list_that_is_run_twice_stands_there_twice_and_what_was_undone_is_open(tmp_path):
    item = "walk-round/fuel-lever"
    steps = [
        (1.0, Clock(), [fact("list opened", "walk-round")]),
        *heard(item, 2.0, 4.0, answer="closed"),
        (5.0, Clock(), [fact("reopened", item, why="disregard", was="closed", status="ticked")]),
        (6.0, Clock(), [fact("list aborted", "walk-round", open="fuel-lever")]),
        (9.0, Clock(), [fact("list opened", "walk-round")]),
        *heard(item, 10.0, 11.0, answer="closed"),
    ]
    write(tmp_path / "log.db", steps, ended=None)

    found = made(tmp_path / "log.db")

    assert [("aborted", "open"), ("", "answered")] == [
        (p.outcome, p.rows[0].state) for p in found.lists
    ]
    assert "has no end in the logbook" in found.notes[0]


def test_the_page_says_whose_word_counts_and_reaches_for_nothing(logbook, tmp_path):
    done = cli("1", "--logbook", str(logbook), "--out", str(tmp_path / "r.html"))
    page = _Page((tmp_path / "r.html").read_text(encoding="utf-8"))

    assert 0 == done.exit_code, done.output
    assert all(one in page.words for one in CAUTIONS)
    assert "The Reedlark is invented and so are all its numbers" in page.words
    assert "img" in page.tags  # the start
    assert not {"script", "link", "iframe", "object", "base"} & set(page.tags)
    assert all(one.startswith("data:") for one in page.addresses)


def test_whatever_was_written_is_shown_as_words_and_obeyed_by_nobody(tmp_path):
    steps = [
        (1.0, Clock(), [fact("list opened", f"walk-{EVIL.replace('/', '')}")]),
        (2.0, Clock(), [fact("lost", "", part=EVIL, what=EVIL)]),
        (3.0, Clock(), [fact("overridden", "a/b", reason=EVIL)]),
    ]
    write(tmp_path / "log.db", steps, aircraft=EVIL)
    done = cli("1", "--logbook", str(tmp_path / "log.db"), "--out", str(tmp_path / "r.html"),
               "--pdf", str(tmp_path / "r.pdf"))  # fmt: skip
    page = _Page((tmp_path / "r.html").read_text(encoding="utf-8"))

    assert 0 == done.exit_code, done.output
    assert f"Session 1: {EVIL}" in page.words
    assert [] == [tag for tag in page.tags if tag in ("script", "img")]
    assert "#sys.version *b* $x$ [l] _i_" in on_paper(tmp_path / "r.pdf")


def on_paper(file: Path) -> str:
    pages = PdfReader(io.BytesIO(file.read_bytes())).pages
    return " ".join(" ".join(page.extract_text() for page in pages).split())


def test_the_pdf_has_the_same_words(logbook, tmp_path):
    done = cli("1", "--logbook", str(logbook), "--pdf", str(tmp_path / "r.pdf"))
    words = on_paper(tmp_path / "r.pdf")

    assert 0 == done.exit_code, done.output
    assert not Path("session-1.html").exists()
    for one in (*CAUTIONS, "static port; reason: not fitted", "fuel by the dipstick",
                "limit passed: above 800 \u00b0C", "start attempts"):  # fmt: skip
        assert one in words


def test_without_the_aircraft_file_keys_stand_for_names_and_it_is_said(tmp_path):
    gone = tmp_path / "gone.yaml"
    write(tmp_path / "log.db", a_day(), file=gone)
    done = cli("1", "--logbook", str(tmp_path / "log.db"), "--out", str(tmp_path / "r.html"))
    page = _Page((tmp_path / "r.html").read_text(encoding="utf-8"))

    assert 0 == done.exit_code, done.output
    assert "The aircraft file cannot be read any more" in page.words
    assert "fuel by the dipstick" in page.words  # its key, with spaces


def test_what_cannot_be_done_is_said_in_a_sentence(logbook, tmp_path):
    unknown = cli("7", "--logbook", str(logbook))
    folder = cli("1", "--logbook", str(logbook), "--out", str(tmp_path))

    assert (2, f"The logbook {logbook} holds no session 7.\n") == (
        unknown.exit_code,
        unknown.stderr,
    )
    assert 2 == folder.exit_code
    assert f"{tmp_path} cannot be written: Is a directory." in folder.stderr


def test_on_a_phone_nothing_is_wider_than_its_390_pixels(logbook, tmp_path):
    out = tmp_path / "r.html"
    cli("1", "--logbook", str(logbook), "--out", str(out))
    text = out.read_text(encoding="utf-8")

    # By structure: tables become blocks, pictures shrink, long words break.
    phone = text[text.index("@media (max-width: 40rem)") :]
    assert "table, tbody, tr, td { display: block; }" in phone
    assert "overflow-wrap: anywhere" in phone
    assert "img { max-width: 100%" in text
    assert '<meta name="viewport" content="width=device-width, initial-scale=1">' in text
    browser = shutil.which("chromium") or shutil.which("chromium-browser")
    if browser:  # Debian's package chromium; without it the structure has to do
        assert 390 >= _scroll_width(browser, text, tmp_path)


def _scroll_width(browser: str, page: str, folder: Path) -> int:
    """What the page wants to be wide in a window of 390 pixels."""
    frame = folder / "frame.html"
    frame.write_text(
        f'<!doctype html><iframe id=f style="width:390px;height:800px;border:0" '
        f'srcdoc="{html.escape(page)}"></iframe><pre id=o></pre><script>f.onload = () => '
        "{ o.textContent = 'wide:' + f.contentDocument.documentElement.scrollWidth }</script>",
        encoding="utf-8",
    )
    done = subprocess.run(
        [browser, "--headless", "--no-sandbox", "--disable-gpu", "--virtual-time-budget=5000",
         "--disable-dev-shm-usage",  # which is 64 MB in many a container
         f"--user-data-dir={folder / 'profile'}", "--dump-dom", frame.as_uri()],
        capture_output=True, text=True, timeout=240, check=True,
    )  # fmt: skip
    found = re.search(r"wide:(\d+)", done.stdout)
    assert found is not None, done.stderr
    return int(found[1])
