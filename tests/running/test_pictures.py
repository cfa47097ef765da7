"""Pictures: what is on them, read back from the SVG, and the colours that mean something."""

from __future__ import annotations

import re
import subprocess
import sys
import xml.etree.ElementTree as ET
from decimal import Decimal
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from feed_rig import aircraft, plane, run
from PIL import Image

from callout.checklist.load import load
from callout.cli.main import main
from callout.engine.effects import Record
from callout.engine.events import Heard, Reading, SessionOpened
from callout.gauges.feed.simulated import lines
from callout.gauges.simulator import Machine, Plan
from callout.logbook.stamp import Stamp
from callout.logbook.store import Logbook
from callout.running.drawing import AMBER, RED
from callout.running.pictures import of_session
from callout.running.pictures_feed import of_simulator

ROOT = Path(__file__).parents[2]
EXAMPLE = ROOT / "checklists" / "reedlark.yaml"
SVG = "{http://www.w3.org/2000/svg}"


def plot(*words: str) -> Result:
    return CliRunner().invoke(main, ["plot", *words])


def texts(file: Path) -> list[str]:
    """All words on the sheet."""
    root = ET.parse(file).getroot()
    return [" ".join("".join(t.itertext()).split()) for t in root.iter(f"{SVG}text")]


def colours(file: Path) -> set[str]:
    """Every colour but greys."""
    found = set(re.findall(r"#[0-9a-f]{6}", file.read_text(encoding="utf-8")))
    return {c for c in found if not c[1:3] == c[3:5] == c[5:7]}


@pytest.fixture(scope="module")
def session(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A logbook with one session along a feed."""
    folder = tmp_path_factory.mktemp("session")
    feed = folder / "feed.csv"
    feed.write_text("\n".join(lines(Machine(), Plan(), 30.0)), encoding="utf-8")
    run(plane(folder), feed, folder / "log.db")
    return folder


def drawn(session: Path, tmp_path: Path, *more: str) -> Path:
    file = tmp_path / "s.svg"
    words = ("1", "--logbook", str(session / "log.db"), "--aircraft", str(session / "rig.yaml"))
    done = plot(*words, "--to", str(file), *more)

    assert (0, None) == (done.exit_code, done.exception), done.output
    return file


def test_a_session_shows_its_gauges_lists_limits_and_warnings(session: Path, tmp_path: Path):
    words = texts(drawn(session, tmp_path))

    assert any("Session 1: Test rig, revision 1" in one for one in words)
    assert {"exhaust temperature", "gas generator speed"} <= set(words)
    assert {"never above 570", "caution above 500", "start", "seconds"} <= set(words)
    assert any(one.startswith("\u25b2 limit passed exhaust temperature") for one in words)
    assert any(one.startswith("\u25c7 caution exhaust temperature") for one in words)
    assert any("handbook rules" in one for one in words)


def test_red_is_a_never_exceed_limit_and_amber_a_caution_and_nothing_else_has_colour(
    session: Path, tmp_path: Path
):
    assert {RED, AMBER} == colours(drawn(session, tmp_path))
    assert set() == colours(drawn(session, tmp_path, "--gauge", "gas-generator-speed"))


def test_a_simulated_start_says_what_was_done_and_whose_the_numbers_are(tmp_path: Path):
    file = tmp_path / "s.svg"
    done = plot("simulator", "--to", str(file), "--seconds", "70", "--aircraft", str(EXAMPLE))
    words = texts(file)

    assert 0 == done.exit_code
    assert {"starter on", "light-off", "starter off", "never above 800"} <= set(words)
    assert any("invented" in one for one in words)


def test_a_recorded_feed_shows_what_was_no_value(tmp_path: Path):
    feed, file = tmp_path / "feed.csv", tmp_path / "f.svg"
    rows = [f"{n / 20},{600 + n % 7},{'nan' if 100 < n < 140 else 60 + n % 5}" for n in range(400)]
    feed.write_text("\n".join(["time,exhaust-temperature,gas-generator-speed", *rows]), "utf-8")
    words = (str(feed), "--to", str(file), "--aircraft", str(aircraft(tmp_path)))
    done = plot(*words, "--state", "start")

    assert 0 == done.exit_code
    assert {"\u25c7 gas generator speed: no number", "never above 570"} <= set(texts(file))
    assert "No limit holds in the state 'x'; there are any, start." in (
        plot(*words, "--state", "x").stderr
    )


def test_a_png_has_ink_where_the_svg_has(session: Path, tmp_path: Path):
    file = tmp_path / "s.png"
    drawn(session, tmp_path, "--to", str(file))
    with Image.open(file) as image:
        assert 1650 == image.width
        dark = sum(image.convert("L").histogram()[:64])
    assert dark > 5_000


def test_the_same_session_gives_the_same_picture(session: Path, tmp_path: Path):
    first = drawn(session, tmp_path).read_bytes()

    assert first == drawn(session, tmp_path).read_bytes()


def test_values_that_were_read_aloud_are_points(tmp_path: Path):
    """The pilot says 24.5 volts; nothing was measured."""
    at = Stamp(5.0, "2031-05-04T09:30:05Z", 5.0, "")
    ticked = (("answer", "24.5"), ("by", "keys"))
    with Logbook.open(tmp_path / "log.db") as book:
        number = book.begin("Reedlark", "4", str(EXAMPLE), "", at)
        book.append(number, SessionOpened(), [Record("list opened", "before-start")], at)
        heard = Heard("two four point five", 1.0, 1, 4.0, 5.0, "keys")
        book.append(number, heard, [Record("ticked", "before-start/battery-voltage", ticked)], at)
        picture = of_session(book, number, None)

    assert [(5.0, 24.5)] == picture.curves["battery-voltage"].spoken


def test_limits_hold_in_the_states_of_the_lists_that_were_open(session: Path):
    with Logbook.read(session / "log.db") as book:
        picture = of_session(book, 1, session / "rig.yaml")

    assert ["start", "any"] == [span.state for span in picture.spans]
    assert picture.spans[0].ended == picture.spans[1].began


def test_the_peak_of_a_long_curve_is_not_thinned_away(tmp_path: Path):
    """One sample of 30,000 is high; the curve on the sheet has a twentieth of the points."""
    from callout.running.drawing import _thinned

    times = [n / 25 for n in range(30_000)]
    values = [1.0] * 30_000
    values[17_123] = 9.0
    kept_times, kept = _thinned(times, values)

    assert 9.0 == max(kept)
    assert times[17_123] in kept_times
    assert len(kept) <= 1600


def test_a_simulated_start_has_the_simulator_s_numbers():
    picture = of_simulator(Machine(), Plan(), 20.0, load(EXAMPLE))
    curve = picture.curves["gas-generator-speed"]

    assert 20.0 == curve.times[-1]
    assert 30.0 < curve.values[-1] < 60.0


@pytest.mark.parametrize(
    ("words", "why"),
    [
        (["simulator", "--to", "x.pdf"], "x.pdf is neither an SVG nor a PNG"),
        (["simulator", "--gauge", "torque"], "There is no gauge 'torque'; there are"),
        (["simulator", "--from", "9", "--until", "3"], "Nothing lies between second 9 and 3"),
        (["99", "--logbook", "LOG"], "holds no session 99"),
        (["feed.csv"], "A recorded feed needs --aircraft"),
        (["1", "--logbook", "none.db"], "There is no logbook at"),
    ],
)
def test_what_cannot_be_drawn_is_said_in_a_sentence(session, tmp_path, monkeypatch, words, why):
    monkeypatch.chdir(tmp_path)
    done = plot(*[str(session / "log.db") if word == "LOG" else word for word in words])

    assert 2 == done.exit_code
    assert why in done.stderr


def test_without_matplotlib_it_says_what_to_install(tmp_path: Path):
    """The real program, in which that library cannot be imported."""
    code = (
        "import sys; sys.modules['matplotlib'] = None;"
        "from callout.cli.main import main;"
        f"main(['plot', 'simulator', '--seconds', '5', '--aircraft', {str(EXAMPLE)!r}])"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=tmp_path, capture_output=True, text=True, timeout=240,
        check=False,
    )  # fmt: skip

    assert 2 == done.returncode
    assert "Pictures need matplotlib, which is not installed: pip install" in done.stderr


def test_a_value_beyond_a_limit_is_marked_where_it_was(session: Path):
    with Logbook.read(session / "log.db") as book:
        picture = of_session(book, 1, session / "rig.yaml")
        events = book.events(1)
    passed = next(mark for mark in picture.marks if mark.grave == "warning")

    assert passed.value is not None
    assert passed.value > 570
    shown = Decimal(str(passed.value))
    assert any(isinstance(e, Reading) and e.value == shown and at == passed.at for at, e in events)
