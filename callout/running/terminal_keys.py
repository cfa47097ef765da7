"""Single keys of the terminal, beside the line that is being typed.

Rule of this file: a key that means something counts at once; every other key
goes into the line, as it would without this. prompt_toolkit knows the terminals
of all systems; it is imported here only.
"""

from __future__ import annotations

import os
import select
import signal
import sys
import threading
from collections.abc import Callable
from typing import TYPE_CHECKING, TextIO

from callout.running.key_map import Presses

if TYPE_CHECKING:
    from prompt_toolkit.input import Input

LOOK = 0.1
"""Seconds after which it looks whether it is to stop, and an Esc alone is an Esc."""

POLL = 0.02
"""Seconds between looks at a console that cannot be waited for (Windows)."""

CLOSING = 20.0
"""Seconds in which the terminal has to be given back. It takes LOOK; but a machine that is
busy, or slept meanwhile, must not leave it as it was while keys were read one by one."""

SOURCE = "terminal"

Echo = Callable[[str], None]
"""Takes what a key does to the line: signs, a new line, backspaces over blanks."""

_NAMES = {"c-m": "enter", "c-j": "enter", "c-i": "tab", "escape": "esc", " ": "space"}
_BACK, _CLEAR, _INTERRUPT, _END = ("c-h", "c-u", "c-c", "c-d")
_OF_EMPTY_LINE = ("space", "enter")


class TypedLine:
    """The line as it grows, key by key.

    Args:
        typed: takes a line when it is finished
        echo: shows what the keys do to the line
    """

    def __init__(self, presses: Presses, typed: Callable[[str], None], echo: Echo) -> None:
        self._presses = presses
        self._typed = typed
        self._echo = echo
        self._line = ""

    def key(self, key: str) -> bool:
        """Take one key; False when it ends the input."""
        name = _NAMES.get(key, key)
        if self._presses.knows(name) and not (self._line and name in _OF_EMPTY_LINE):
            self._presses.pressed(name, f"{name} of the {SOURCE}")
        elif name == "enter":
            self._echo("\n")
            line, self._line = self._line, ""
            self._typed(line)
        elif key == _END and not self._line:
            return False
        elif key in (_BACK, _CLEAR):
            gone = len(self._line) if key == _CLEAR else min(1, len(self._line))
            self._line = self._line[: len(self._line) - gone]
            self._echo("\b \b" * gone)
        elif len(key) == 1 and key.isprintable():
            self._line += key
            self._echo(key)
        return True


class TerminalKeys(threading.Thread):
    """Reads a terminal key by key, until it ends or `close`.

    Args:
        typed: takes finished lines
        ended: told that no more will come
        stream: the terminal; None for the program's own
        echo: shows what the keys do to the line; None for the terminal itself
    """

    def __init__(
        self,
        presses: Presses,
        typed: Callable[[str], None],
        ended: Callable[[], None],
        stream: TextIO | None = None,
        echo: Echo | None = None,
    ) -> None:
        super().__init__(name="keys of the terminal", daemon=True)
        self._stream = stream
        self._line = TypedLine(presses, typed, echo or _echo)
        self._ended = ended
        self._over = threading.Event()

    def run(self) -> None:
        """Until the end."""
        from prompt_toolkit.input import create_input

        terminal = create_input(self._stream or sys.stdin)
        try:
            with terminal.raw_mode():
                while not self._over.is_set() and self._read(terminal):
                    pass
        except OSError:
            # The terminal went away: the same as its end.
            pass
        self._ended()

    def close(self) -> None:
        """Give the terminal back as it was."""
        self._over.set()
        if self.is_alive():
            self.join(CLOSING)

    def _read(self, terminal: Input) -> bool:
        keys = terminal.read_keys() if self._waited(terminal) else terminal.flush_keys()
        for press in keys:
            key = str(getattr(press.key, "value", press.key))
            if key == _INTERRUPT:
                _interrupt()
            elif not self._line.key(key):
                return False
        return not terminal.closed

    def _waited(self, terminal: Input) -> bool:
        """Whether something may have come."""
        if sys.platform == "win32":
            return not self._over.wait(POLL)
        return bool(select.select([terminal.fileno()], [], [], LOOK)[0])


def _interrupt() -> None:
    """What Ctrl-C does when the terminal itself looks for it."""
    if sys.platform == "win32":
        signal.raise_signal(signal.SIGINT)
    else:
        os.kill(os.getpid(), signal.SIGINT)


def _echo(text: str) -> None:
    try:
        sys.stdout.write(text)
        sys.stdout.flush()
    except (OSError, ValueError):
        # Nobody reads what is typed; it counts all the same.
        pass
