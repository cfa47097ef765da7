"""What keys mean: `f1=affirm` of the command line, read and checked; presses that count.

Rule of this file: a key held down, or bouncing, is one press. Nothing here
reads a device.
"""

from __future__ import annotations

import difflib
from collections.abc import Callable, Iterable, Mapping

from callout.engine.events import Event, Key, KeyMeaning
from callout.running.clock import SessionClock
from callout.running.problems import CannotRunError

MEANINGS: Mapping[str, KeyMeaning] = {
    meaning.value.replace(" ", "-"): meaning for meaning in KeyMeaning
}
"""As written on the command line: affirm, say-again, hold, roger."""

TERMINAL_NAMES: tuple[str, ...] = (
    *(f"f{number}" for number in range(1, 13)),
    *("up", "down", "left", "right", "pageup", "pagedown", "home", "end", "insert", "delete"),
    *("tab", "esc", "space", "enter"),
)
"""Keys that a terminal tells apart and that begin no typed answer; space and enter
count only as long as nothing is typed."""

HELD = 1.1
"""Seconds within which the same key again is the same press: a keyboard begins to
repeat a key that is held down after at most a second (common practice, no source)."""


def meanings_of(options: Iterable[str]) -> dict[str, KeyMeaning]:
    """Read "f1=affirm" of each option.  Raises CannotRunError."""
    found: dict[str, KeyMeaning] = {}
    for option in options:
        name, _, word = option.lower().partition("=")
        name, word = name.strip(), word.strip()
        if not name or not word:
            raise CannotRunError(f"--key {option}: write a key and its meaning, as in f1=affirm.")
        if word not in MEANINGS:
            raise CannotRunError(
                f"--key {option}: a key cannot mean {word!r}; it can mean {', '.join(MEANINGS)}."
            )
        if name in found:
            raise CannotRunError(f"--key {option}: {name} already means {found[name].value}.")
        found[name] = MEANINGS[word]
    return found


def check_terminal_names(meanings: Mapping[str, KeyMeaning]) -> None:
    """A key of the keyboard must be one that begins no typed answer.  Raises CannotRunError."""
    for name in meanings:
        if name in TERMINAL_NAMES:
            continue
        if len(name) == 1:
            raise CannotRunError(
                f"--key {name}: a letter or sign begins a typed answer. Take another key, "
                "or name the device that has it with --key-device."
            )
        near = difflib.get_close_matches(name, TERMINAL_NAMES, n=1)
        did = f" Did you mean {near[0]}?" if near else ""
        raise CannotRunError(
            f"--key {name}: a terminal has no such key; it has {', '.join(TERMINAL_NAMES)}.{did}"
        )


class Presses:
    """Turns names of pressed keys into Key events.

    Args:
        meanings: what each key means
        clock: tells when it was pressed
        put: takes the events
    """

    def __init__(
        self,
        meanings: Mapping[str, KeyMeaning],
        clock: SessionClock,
        put: Callable[[Event], None],
    ) -> None:
        self._meanings = meanings
        self._clock = clock
        self._put = put
        self._seen: dict[str, float] = {}

    def knows(self, name: str) -> bool:
        """Whether the key means anything."""
        return name in self._meanings

    def pressed(self, name: str, source: str) -> None:
        """The key went down; `source` is for the log."""
        now = self._clock.now()
        last = self._seen.get(name)
        self._seen[name] = now
        if last is None or now - last >= HELD:
            self._put(Key(self._meanings[name], now, source))
