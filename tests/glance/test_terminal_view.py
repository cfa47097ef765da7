"""The view on a terminal: what is asked and what stands, drawn from the page's own view.

Colours: red is a warning and amber a caution (FAR 25.1322, from memory); contrast by the
formula of WCAG 2.2.
"""

from __future__ import annotations

import io
import os
import pty
import re
import select
import subprocess
import sys
import time
from decimal import Decimal
from pathlib import Path

import pytest
from rich.color import Color
from rich.console import Console
from rich.style import Style

from callout.checklist.load import load_all
from callout.ear.keys_ear import KeysEar
from callout.engine.events import Event, Reading, SessionOpened
from callout.engine.session import Session
from callout.glance.seen import Seen, after
from callout.glance.terminal import CAUTION, WARNING, drawn
from callout.glance.view import glance
from callout.running.problems import CannotRunError
from callout.running.terminal_view import KEPT, TerminalView

REEDLARK = Path(__file__).parents[2] / "checklists" / "reedlark.yaml"


RUNNING = """callout: 1
aircraft:
  name: Wrenlet
  revision: "1"
  written_by: a test
  limits_from: {handbook: "none, all numbers are invented"}
engine_states: [running]
gauges:
  oil-pressure:
    unit: bar
    range: 0 to 10
    decimals: 1
    limits:
      running:
        caution: {below: 2.0, above: 6.0}
        never: {below: 1.2, above: 7.0}
lists:
  idle:
    engine_state: running
    items:
      - {call: door, answer: latched}
"""


class Watched:
    """A session and its view."""

    def __init__(self, *lists: str, file: Path = REEDLARK) -> None:
        self.session = Session(load_all(file).aircraft)
        self.seen = Seen()
        self.now = 0.0
        self.handle(SessionOpened(lists))

    def handle(self, event: Event) -> None:
        self.now += 3.0
        effects = self.session.handle(event, self.now)
        self.seen = after(self.seen, event, tuple(effects), self.session.state, self.now)

    def say(self, text: str) -> None:
        ear = KeysEar(lambda: self.now + 3.0)
        ear.listen_for(self.session.state.grammar)
        for event in ear.hear(text):
            self.handle(event)

    def text(self, width: int = 80, typed: str = "", lines: tuple[str, ...] = ()) -> str:
        console = Console(file=io.StringIO(), width=width, height=60, color_system=None)
        view = glance(self.session.aircraft, self.seen, self.now)
        console.print(drawn(view, lines, typed))
        assert isinstance(console.file, io.StringIO)
        return console.file.getvalue()


@pytest.mark.parametrize("width", [40, 80, 200])
def test_it_shows_what_is_asked_what_would_answer_it_and_what_comes_next(width):
    watched = Watched("walk-round")

    text = watched.text(width, typed="clo", lines=("  0:01.0  callout  Cabin.",))

    assert "fuel lever   [killer]" in text
    assert "closed" in text
    assert "battery master" in text
    assert "> clo" in text
    assert "0:01.0  callout  Cabin." in text
    assert all(len(line) <= width for line in text.splitlines())


def test_it_follows_the_session():
    watched = Watched("walk-round")

    watched.say("closed")

    assert re.search(r"^  battery master\s*$", watched.text(), re.MULTILINE)
    assert re.search(r"heard +closed$", watched.text().replace(" \n", "\n"), re.MULTILINE)


@pytest.fixture
def running(tmp_path) -> Watched:
    file = tmp_path / "wrenlet.yaml"
    file.write_text(RUNNING, encoding="utf-8")
    return Watched("idle", file=file)


@pytest.mark.parametrize(
    ("value", "word"), [("7.5", "Warning: "), ("6.5", "Caution: "), ("4.0", "")]
)
def test_what_stands_is_a_word_as_well_as_a_colour(running, value, word):
    running.handle(Reading("oil-pressure", Decimal(value), running.now + 3))

    text = running.text()

    assert f"{value} bar" in text
    assert [word] * bool(word) == re.findall("Warning: |Caution: ", text)


def test_a_scale_shows_limits_and_the_value_between_them(running):
    running.handle(Reading("oil-pressure", Decimal("4.0"), running.now + 3))

    row = next(line for line in running.text().splitlines() if "4.0 bar" in line)
    scale = re.search(r"[-=cn|]{24}", row)

    assert scale is not None
    # Limits of the file: never below 1.2, caution below 2.0, above 6.0, never above 7.0, of 10.
    assert [(round(place / 10 * 23), sign) for place, sign in
            ((1.2, "n"), (2.0, "c"), (4.0, "|"), (6.0, "c"), (7.0, "n"))] == [
        (at, sign) for at, sign in enumerate(scale[0]) if sign != "-"
    ]  # fmt: skip


def luminance(color: Color) -> float:
    """Relative luminance of WCAG 2.2."""
    parts = [part / 255 for part in color.get_truecolor()]
    linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return sum(w * p for w, p in zip((0.2126, 0.7152, 0.0722), linear, strict=True))


@pytest.mark.parametrize("style", [WARNING, CAUTION])
def test_what_is_coloured_is_readable_in_the_sun(style):
    """7 to 1, success criterion 1.4.6."""
    pair = Style.parse(style)
    ink = {"white": Color.parse("#ffffff"), "black": Color.parse("#000000")}[pair.color.name]
    low, high = sorted((luminance(ink), luminance(pair.bgcolor)))

    assert 7.0 <= (high + 0.05) / (low + 0.05)


def terminal(file: io.StringIO) -> Console:
    return Console(file=file, force_terminal=True, width=80, height=40)


def test_what_is_typed_is_shown_and_taken_back():
    view = TerminalView(load_all(REEDLARK).aircraft, lambda: 0.0, terminal(io.StringIO()))
    shown = []
    for text in ("c", "l", "x", "\b \b", "\b \b\b \b", "ok", "\n"):
        view.type(text)
        console = Console(file=io.StringIO(), width=80)
        console.print(view.drawn())
        shown.append(console.file.getvalue().splitlines()[-1].strip())

    assert ["> c", "> cl", "> clx", "> cl", ">", "> ok", ">"] == shown


def test_the_last_lines_stay_in_sight():
    view = TerminalView(load_all(REEDLARK).aircraft, lambda: 0.0, terminal(io.StringIO()))
    for at in range(KEPT + 1):
        view.line(float(at), "callout", f"line {at} said")
    console = Console(file=io.StringIO(), width=80)
    console.print(view.drawn())

    assert "line 0 said" not in console.file.getvalue()
    assert f"line {KEPT} said" in console.file.getvalue()


def test_without_a_terminal_there_is_no_view():
    with pytest.raises(CannotRunError, match="--view needs a terminal"):
        TerminalView(load_all(REEDLARK).aircraft, lambda: 0.0, Console(file=io.StringIO()))


def test_a_list_is_answered_at_a_terminal(tmp_path):
    """The real program on a pseudo terminal: items follow one another in place."""
    person, machine = pty.openpty()
    command = [sys.executable, "-m", "callout", "run", str(REEDLARK), "walk-round", "--ear", "keys"]
    command += ["--speak", "none", "--logbook", str(tmp_path / "log.db"), "--view"]
    program = subprocess.Popen(
        command, stdin=machine, stdout=machine, stderr=machine, close_fds=True,
        env={**os.environ, "TERM": "xterm-256color", "COLUMNS": "100", "LINES": "40"},
    )  # fmt: skip
    try:
        see(person, "  fuel lever")
        os.write(person, b"closed\r")
        see(person, "  battery master")
        os.write(person, b"\x03")
        assert 0 == program.wait(60)
    finally:
        program.kill()
        program.wait()
        os.close(person)
        os.close(machine)


def see(person: int, text: str) -> None:
    """The text begins a line of the item, which is underlined."""
    shown, end = "", time.monotonic() + 100
    while f"\x1b[1;4m{text}" not in shown:
        assert time.monotonic() < end, shown[-3000:]
        if select.select([person], [], [], 0.2)[0]:
            shown += os.read(person, 65536).decode(errors="replace")
