"""The exact line that installs what is missing, for the system at hand.

Rule of this file: one line a shell takes as it stands; "" where no line helps.
"""

from __future__ import annotations

import shlex
import shutil
import sys
from collections.abc import Callable, Mapping
from types import MappingProxyType

PORTAUDIO, SYSTEM_VOICE, SOUND_SERVER = "portaudio", "system voice", "sound server"

_INSTALLERS = {
    "apt": "sudo apt install",
    "dnf": "sudo dnf install",
    "pacman": "sudo pacman -S",
    "zypper": "sudo zypper install",
    "brew": "brew install",
}
"""Program -> how it is called; looked for in this order."""

# Debian's names were tried; those of the others are from memory.
_PACKAGES: Mapping[str, Mapping[str, str]] = MappingProxyType(
    {
        PORTAUDIO: {
            "apt": "libportaudio2",
            "dnf": "portaudio",
            "pacman": "portaudio",
            "zypper": "libportaudio2",
            "brew": "portaudio",
        },
        SYSTEM_VOICE: {
            "apt": "espeak-ng",
            "dnf": "espeak-ng",
            "pacman": "espeak-ng",
            "zypper": "espeak-ng",
        },
        SOUND_SERVER: {
            "apt": "libasound2-plugins",
            "dnf": "alsa-plugins-pulseaudio",
            "pacman": "alsa-plugins",
            "zypper": "alsa-plugins-pulse",
        },
    }
)


def system_line(
    what: str,
    platform: str = sys.platform,
    find: Callable[[str], str | None] = shutil.which,
) -> str:
    """Give the line that installs a library of the system; "" where there is none to install.

    On Linux without a known installer it is Debian's line.
    """
    packages = _PACKAGES[what]
    if platform == "win32":
        return pip_line("sounddevice", again=True) if what == PORTAUDIO else ""
    candidates = ["brew"] if platform == "darwin" else [one for one in _INSTALLERS if one != "brew"]
    usable = [one for one in candidates if one in packages]
    if not usable:
        return ""
    installer = next((one for one in usable if find(one)), usable[0])
    return f"{_INSTALLERS[installer]} {packages[installer]}"


def pip_line(package: str, again: bool = False) -> str:
    """Give the line that installs a Python package for the Python that runs this."""
    python = f'"{sys.executable}"' if sys.platform == "win32" else shlex.quote(sys.executable)
    how = "install --force-reinstall" if again else "install"
    return f"{python} -m pip {how} {package}"
