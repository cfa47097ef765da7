"""Single keys of a real terminal (a pty): they mean what --key says, typing goes on as ever.

What a key sends: F1 and the like as xterm does (SS3 P), Page Down as a DEC VT220
(CSI 6 ~); ECMA-48 control functions, from memory.
"""

from __future__ import annotations

import os
import pty
import select
import signal
import subprocess
import sys
import termios
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

import pytest
from prompt_toolkit.keys import Keys

from callout.engine.events import Event, Key, KeyMeaning, SpeechEnded
from callout.logbook.store import Logbook
from callout.running.clock import RecordingClock
from callout.running.key_map import HELD, TERMINAL_NAMES, Presses, check_terminal_names, meanings_of
from callout.running.problems import CannotRunError

WRENLET = """
callout: 1
aircraft:
  name: Wrenlet
  revision: "1"
  written_by: a test
  limits_from: {handbook: "none, all numbers are invented"}
lists:
  look:
    title: short look
    items:
      - {call: fuel lever, answer: closed}
      - {call: master, answer: disconnected, killer: yes}
      - {call: tail rotor, answer: free to turn}
"""

F1, F3, PAGE_DOWN, ENTER, CTRL_C, BACKSPACE = "\x1bOP", "\x1bOR", "\x1b[6~", "\r", "\x03", "\x7f"

PATIENCE = 120.0
"""Seconds for which something is waited for that surely comes: a busy machine may take long."""


class Terminal:
    """A program at one end of a pty, a person at the other."""

    def __init__(self, folder: Path, *options: str, file: str = WRENLET) -> None:
        self.folder = folder
        aircraft = folder / "wrenlet.yaml"
        aircraft.write_text(file, encoding="utf-8")
        self.person, self.machine = pty.openpty()
        command = [
            *(sys.executable, "-m", "callout", "run", str(aircraft), "look", "--ear", "keys"),
            *("--speak", "none", "--logbook", str(folder / "log.db"), *options),
        ]
        self.before = termios.tcgetattr(self.machine)
        self.program = subprocess.Popen(
            command, stdin=self.machine, stdout=self.machine, stderr=self.machine, close_fds=True
        )
        self.seen = ""

    def see(self, text: str) -> None:
        """Wait until the text is on the screen, and forget what came before it."""
        end = time.monotonic() + PATIENCE
        while text not in self.seen:
            left = end - time.monotonic()
            assert left > 0, f"{text!r} did not come; on the screen: {self.seen}"
            if select.select([self.person], [], [], min(left, 0.2))[0]:
                self.seen += os.read(self.person, 4096).decode(errors="replace")
        self.seen = self.seen.split(text, 1)[1]

    def see_raw(self) -> None:
        """Wait until keys are read one by one."""
        end = time.monotonic() + PATIENCE
        while self.before == termios.tcgetattr(self.machine):
            assert time.monotonic() < end, "the terminal never changed"
            time.sleep(0.05)

    def press(self, keys: str) -> None:
        os.write(self.person, keys.encode())

    def press_after(self, text: str, say: int, keys: str) -> None:
        """See the call, let it be said (as the log has it, by its number), then press."""
        self.see(text)
        end = time.monotonic() + PATIENCE
        while SpeechEnded(say) not in self.events():
            assert time.monotonic() < end, f"{text!r} was not said to its end"
            time.sleep(0.05)
        time.sleep(HELD)  # sooner it would be the same key held down
        self.press(keys)

    def wait(self) -> int:
        return self.program.wait(timeout=PATIENCE)

    def events(self) -> list[Event]:
        with Logbook.read(self.folder / "log.db") as logbook:
            return [event for _, event in logbook.events(1)]

    def ticked(self) -> list[dict[str, str]]:
        return self.facts("ticked")

    def facts(self, name: str) -> list[dict[str, str]]:
        with Logbook.read(self.folder / "log.db") as logbook:
            return [dict(fact.data) for _, fact in logbook.facts(1) if fact.fact == name]

    def close(self) -> None:
        if self.program.poll() is None:
            self.program.kill()
            self.program.wait()
        os.close(self.person)
        os.close(self.machine)


@contextmanager
def terminal(folder: Path, *options: str, file: str = WRENLET) -> Iterator[Terminal]:
    with closing(Terminal(folder, *options, file=file)) as one:
        yield one


KEYS = ("--key", "f1=affirm", "--key", "pagedown=say-again", "--key", "f3=hold")


def test_a_list_is_answered_by_keys_and_by_typing_together(tmp_path: Path):
    with terminal(tmp_path, *KEYS) as one:
        one.press_after("Fuel lever?", 1, PAGE_DOWN)
        one.press_after("Fuel lever?", 3, F1)
        one.press_after("Master?", 4, F1)
        one.see("A key cannot answer a killer item. Say the answer.")
        one.press("disconnectex" + BACKSPACE + "d" + ENTER)
        one.press_after("Tail rotor?", 6, F3)
        one.see("Holding at tail rotor.")
        time.sleep(HELD)
        one.press(F1)
        one.see("Last item: master, disconnected.")
        one.press_after("Tail rotor?", 9, F1)
        one.see("Session ended.")

        assert 0 == one.wait()
        assert [
            ("closed", "key", "f1 of the terminal"),
            ("disconnected", "keys", None),
            ("free to turn", "key", "f1 of the terminal"),
        ] == [(tick["answer"], tick["by"], tick.get("key")) for tick in one.ticked()]


def test_a_key_held_down_is_one_press(tmp_path: Path):
    """As often as a keyboard repeats in three seconds: the next item is not ticked by it."""
    with terminal(tmp_path, *KEYS) as one:
        one.press_after("Fuel lever?", 1, 30 * F1)
        one.see("Master?")
        one.press(CTRL_C)

        assert 0 == one.wait()
        assert ["closed"] == [tick["answer"] for tick in one.ticked()]
        assert 1 == sum(isinstance(event, Key) for event in one.events())


def test_a_key_that_repeats_ten_times_a_second_for_minutes_is_one_press():
    clock, keys = RecordingClock(), list[Event]()
    presses = Presses({"f1": KeyMeaning.AFFIRM}, clock, keys.append)
    for tick in range(1200):
        clock.move(tick / 10)
        presses.pressed("f1", "test")
    clock.move(clock.now() + 2 * HELD)
    presses.pressed("f1", "test")

    assert [0.0, clock.now()] == [key.at for key in keys if isinstance(key, Key)]


def test_a_key_before_the_call_was_said_is_none(tmp_path: Path):
    """The call takes longer than any machine needs to read a key."""
    call = "fuel lever " + 25 * "and nothing else "
    with terminal(tmp_path, *KEYS, file=WRENLET.replace("fuel lever", call)) as one:
        one.see("Fuel lever")
        one.press(F1)
        one.see("[affirm]")
        one.press(CTRL_C)

        assert 0 == one.wait()
        assert [] == one.ticked()
        assert 1 == len(one.facts("key too soon"))


def test_ctrl_c_ends_the_session_and_the_terminal_is_as_it_was(tmp_path: Path):
    with terminal(tmp_path, *KEYS) as one:
        one.see("Fuel lever?")
        one.see_raw()
        one.press(CTRL_C)
        one.see("Session ended.")

        assert 0 == one.wait()
        assert one.before == termios.tcgetattr(one.machine)


def test_told_to_end_the_terminal_is_as_it_was(tmp_path: Path):
    with terminal(tmp_path, *KEYS) as one:
        one.see("Fuel lever?")
        one.see_raw()
        one.program.send_signal(signal.SIGTERM)
        one.wait()

        assert one.before == termios.tcgetattr(one.machine)


@pytest.mark.parametrize(
    ("keys", "sentence"),
    [
        (["f1=yes"], "a key cannot mean 'yes'; it can mean affirm, say-again, hold, roger"),
        (["f1"], "write a key and its meaning, as in f1=affirm"),
        (["f1=affirm", "F1=hold"], "f1 already means affirm"),
        (["b=affirm"], "begins a typed answer"),
        (["pagdown=affirm"], "Did you mean pagedown?"),
    ],
)
def test_a_key_that_cannot_be_meant_is_one_sentence(keys: list[str], sentence: str):
    with pytest.raises(CannotRunError) as told:
        check_terminal_names(meanings_of(keys))
    assert sentence in str(told.value)


def test_every_key_that_is_named_for_a_terminal_is_one_that_it_can_tell():
    """Against prompt_toolkit's own names."""
    known = {key.value for key in Keys} | {"esc", "space", "enter", "tab"}
    assert set(TERMINAL_NAMES) <= known


@pytest.mark.parametrize(
    ("options", "sentence"),
    [
        (("--key-device", "pedal"), "say what its keys mean"),
        (("--key", "f1=affirm"), "needs a terminal to type at"),
        (("--key", "f1=affirm", "--clock", "recording", "--listen", "x.wav"), "has no keys"),
    ],
)
def test_what_cannot_be_done_is_one_sentence_and_no_session(
    options: tuple[str, ...], sentence: str, tmp_path: Path
):
    aircraft = tmp_path / "wrenlet.yaml"
    aircraft.write_text(WRENLET, encoding="utf-8")
    done = subprocess.run(
        [
            *(sys.executable, "-m", "callout", "run", str(aircraft), "--ear", "keys"),
            *("--speak", "none", "--logbook", str(tmp_path / "log.db"), *options),
        ],
        stdin=subprocess.DEVNULL,
        capture_output=True,
        text=True,
        timeout=240,
        check=False,
    )

    assert 0 != done.returncode
    assert sentence in " ".join(done.stderr.split())
    assert "Traceback" not in done.stderr
    with Logbook.read(tmp_path / "log.db") as logbook:
        assert [] == list(logbook.sessions())
