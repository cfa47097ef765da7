"""Which microphones there are, and which one the owner meant.

Rule of this file: sounddevice is imported here and nowhere else in this room;
what is missing is one sentence that says what to install.
"""

from __future__ import annotations

import sys
from types import ModuleType

from callout.ear.problems import MicrophoneLost


def sounddevice() -> ModuleType:
    """Return the sounddevice module; MicrophoneLost says what to install."""
    try:
        import sounddevice as module
    except ImportError as problem:
        raise MicrophoneLost(
            "The microphone needs the package sounddevice; install it with: pip install sounddevice"
        ) from problem
    except OSError as problem:
        raise MicrophoneLost(f"Sound devices need PortAudio; {_install_line()}") from problem
    found: ModuleType = module
    return found


def _install_line() -> str:
    if sys.platform.startswith("linux"):
        return "install it with: sudo apt install libportaudio2"
    return "reinstall the package that carries it with: pip install --force-reinstall sounddevice"


def microphones(sound: ModuleType | None = None) -> list[tuple[int, str]]:
    """Return number and name of every device that can listen.

    `sound` is the sounddevice module; MicrophoneLost if it is not given and not there.
    """
    module = sound or sounddevice()
    if not len(module.query_devices()):
        # PortAudio looks for devices once. Looking again closes every open stream,
        # and only without a single device is it certain that there is none.
        module._terminate()
        module._initialize()
    devices = module.query_devices()
    return [
        (number, str(device["name"]))
        for number, device in enumerate(devices)
        if device["max_input_channels"] > 0
    ]


def choose(words: str, devices: list[tuple[int, str]]) -> int | None:
    """Return the number of the device meant by words of its name, or by its number.

    All words have to stand in the name, in any case and order; a name that is
    the words exactly goes first. None for no words: the system's own choice.
    Raises MicrophoneLost with the list of devices that match.
    """
    wanted = words.casefold().split()
    if not wanted:
        if not devices:
            raise MicrophoneLost("No microphone is connected.")
        return None
    if len(wanted) == 1 and wanted[0].isdecimal():
        found = [device for device in devices if device[0] == int(wanted[0])]
    else:
        found = [d for d in devices if all(word in d[1].casefold() for word in wanted)]
        exact = [d for d in found if d[1].casefold() == words.casefold()]
        found = exact if len(exact) == 1 else found
    if len(found) == 1:
        return found[0][0]
    raise MicrophoneLost(_which(words, found, devices))


def _which(words: str, found: list[tuple[int, str]], devices: list[tuple[int, str]]) -> str:
    if not devices:
        return f"No microphone matches {words!r}: none is connected."
    names = "; ".join(f"{number} {name}" for number, name in found or devices)
    if found:
        return f"{len(found)} microphones match {words!r}, name one of them or its number: {names}."
    return f"No microphone matches {words!r}; there are: {names}."
