"""What is typed and pressed in a live session: lines, single keys, a device.

Rule of this file: whatever cannot be done is one sentence before the session begins.
"""

from __future__ import annotations

import sys

from callout.running.clock import SessionClock
from callout.running.device_keys import DeviceKeys, InputDevice, codes_of, opening
from callout.running.key_map import Presses, check_terminal_names, meanings_of
from callout.running.live import Inbox, InputClosed, Keyboard, Typed
from callout.running.problems import CannotRunError
from callout.running.settings import RunSettings
from callout.running.terminal_keys import Echo, TerminalKeys


def refuse_keys(settings: RunSettings) -> None:
    """A recording holds no keys.  Raises CannotRunError."""
    if settings.keys or settings.key_device:
        raise CannotRunError("--key and --key-device need --clock real: a recording has no keys.")


class Keyed:
    """The keys that the settings ask for: checked and opened now, read from `start` on.

    Raises CannotRunError.
    """

    def __init__(self, settings: RunSettings) -> None:
        self._meanings = meanings_of(settings.keys)
        self._device = settings.key_device
        self._opened: list[InputDevice] = []
        self._reading: list[TerminalKeys | DeviceKeys] = []
        if self._device:
            self._open()
        elif self._meanings:
            check_terminal_names(self._meanings)
            if not sys.stdin.isatty():
                raise CannotRunError(
                    "--key needs a terminal to type at, or a device: --key-device NAME."
                )

    def _open(self) -> None:
        if not self._meanings:
            raise CannotRunError(
                f"--key-device {self._device}: say what its keys mean, as in --key f1=affirm."
            )
        self._opened = opening(self._device, self._meanings)()

    def start(
        self, clock: SessionClock, inbox: Inbox, *, typed: bool, echo: Echo | None = None
    ) -> None:
        """Read from now on; typed lines only if `typed`, else the input is somebody else's.

        `echo` shows what is typed, for a terminal that must not show it by itself.
        """
        presses = Presses(self._meanings, clock, inbox.put)
        if self._device:
            reopen, codes = opening(self._device, self._meanings), codes_of(self._meanings)
            self._reading.append(DeviceKeys(self._opened, reopen, codes, presses, inbox.put))
        elif self._meanings or (typed and echo is not None and sys.stdin.isatty()):

            def line(text: str) -> None:
                inbox.put(Typed(text))

            def ended() -> None:
                inbox.put(InputClosed())

            self._reading.append(TerminalKeys(presses, line, ended, echo=echo))
            typed = False
        if typed:
            Keyboard(sys.stdin, inbox).start()
        for reader in self._reading:
            reader.start()

    def stop(self) -> None:
        """Give the terminal and the devices back."""
        for reader in self._reading:
            reader.close()
