"""Keys of a pedal, presenter or second keyboard, by the device's name (Linux).

Rule of this file: the device is read itself, so it counts whatever window has the
focus, and is taken for callout alone, so that nothing of it is typed elsewhere.
evdev reads it; it is imported here only.
"""

from __future__ import annotations

import select
import threading
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import suppress
from typing import Protocol

from callout.engine.events import Event, KeyMeaning, Lost, Restored
from callout.running.key_map import Presses
from callout.running.problems import CannotRunError

PART = "pedal"
"""What it is called when it is lost."""

RETRY = 2.0
"""Seconds between attempts to open a device that was lost."""

LOOK = 0.2
"""Seconds after which it looks whether it is to stop."""

CLOSING = 20.0
"""Seconds in which the devices have to be given back; it takes LOOK, on a busy machine longer."""

PRESSED = 1
"""Of a key's values: 0 is let go, 2 is still held."""


class InputEvent(Protocol):
    """As evdev has it."""

    type: int
    code: int
    value: int


class InputDevice(Protocol):
    """As evdev has it."""

    name: str

    def fileno(self) -> int:
        """To wait on."""

    def read(self) -> Iterable[InputEvent]:
        """What has come.  Raises OSError when the device is gone."""

    def close(self) -> None:
        """Give it back."""


Opening = Callable[[], list[InputDevice]]
"""Opens all that have the name.  Raises CannotRunError in a sentence."""


def opening(words: str, meanings: Mapping[str, KeyMeaning]) -> Opening:
    """What opens the devices with these words in their name that have one of the keys."""
    codes = set(codes_of(meanings))

    def open_all() -> list[InputDevice]:
        import evdev

        here = [evdev.InputDevice(path) for path in evdev.list_devices()]
        named = [device for device in here if words.lower() in device.name.lower()]
        able = [d for d in named if codes & set(d.capabilities().get(evdev.ecodes.EV_KEY, ()))]
        for device in here:
            if device not in able:
                device.close()
        if not able:
            raise CannotRunError(_none(words, [d.name for d in here], named=bool(named)))
        for device in able:
            with suppress(OSError):  # another program has it: heard all the same
                device.grab()
        return [*able]

    return open_all


def _none(words: str, names: list[str], *, named: bool) -> str:
    if not names:
        return (
            "No input device can be read. To read them you must be in the group input: "
            "sudo usermod -aG input $USER, then log in again."
        )
    if named:
        return f"The device {words!r} has none of the keys given with --key."
    return f"No input device is called {words!r}; there are {', '.join(sorted(set(names)))}."


def codes_of(meanings: Mapping[str, KeyMeaning]) -> dict[int, str]:
    """The kernel's number of each key, and the name it was given by.  Raises CannotRunError."""
    try:
        from evdev import ecodes
    except ImportError as missing:
        raise CannotRunError(
            "The keys of a device need Linux and evdev: pip install callout[pedal]. "
            "Without --key-device the keys of the terminal count."
        ) from missing
    found: dict[int, str] = {}
    for name in meanings:
        code = ecodes.ecodes.get(f"KEY_{name.upper()}", ecodes.ecodes.get(name.upper()))
        if not isinstance(code, int):
            raise CannotRunError(
                f"--key {name}: the system knows no such key. Names are as in "
                "linux/input-event-codes.h, without KEY_: f1, b, pagedown, dot, btn_left."
            )
        found[code] = name
    return found


class DeviceKeys(threading.Thread):
    """Reads devices until `close`; told once when they are lost, and when they are back.

    Args:
        devices: the devices as opened first
        reopen: opens them again
        codes: number of each key that means something, and its name
        put: takes Lost and Restored
    """

    def __init__(
        self,
        devices: list[InputDevice],
        reopen: Opening,
        codes: Mapping[int, str],
        presses: Presses,
        put: Callable[[Event], None],
    ) -> None:
        super().__init__(name="keys of a device", daemon=True)
        self._devices = devices
        self._reopen = reopen
        self._codes = codes
        self._presses = presses
        self._put = put
        self._over = threading.Event()

    def run(self) -> None:
        """Until closed."""
        lost = False
        while not self._over.is_set():
            try:
                if lost:
                    self._devices = self._reopen()
                    self._put(Restored(PART))
                    lost = False
                while not self._over.is_set():
                    self._read()
            except (OSError, CannotRunError) as error:
                self._give_back()
                if not lost:
                    self._put(Lost(PART, str(error)))
                lost = True
                self._over.wait(RETRY)
        self._give_back()

    def close(self) -> None:
        """Give the devices back."""
        self._over.set()
        if self.is_alive():
            self.join(CLOSING)

    def _read(self) -> None:
        ready, _, _ = select.select(self._devices, [], [], LOOK)
        for device in ready:
            for name in self._downs(device):
                self._presses.pressed(name, f"{name} of {device.name}")

    def _downs(self, device: InputDevice) -> Iterator[str]:
        from evdev import ecodes

        for event in device.read():
            name = self._codes.get(event.code)
            if event.type == ecodes.EV_KEY and event.value == PRESSED and name is not None:
                yield name

    def _give_back(self) -> None:
        for device in self._devices:
            with suppress(OSError):
                device.close()
        self._devices = []
