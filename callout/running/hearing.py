"""The ear of a session: by its name, and by the pilot who was enrolled.

Rule of this file: whatever cannot be done is one sentence for people.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from pathlib import Path

from callout.ear.choose import make_ear
from callout.ear.protocol import Ear
from callout.running.problems import CannotRunError
from callout.running.settings import RunSettings

BUILT_IN = "built-in"


def ear_of(settings: RunSettings, now: Callable[[], float] = time.monotonic) -> Ear:
    """Return the ear that the settings ask for, tuned to its pilot if one is named.

    Raises EarProblem, and CannotRunError for a pilot who cannot be listened for.
    """
    if not settings.pilot:
        return make_ear(settings.ear, settings.model, now=now)
    if settings.ear != BUILT_IN:
        raise CannotRunError(
            f"Only the built-in ear knows pilots, not {settings.ear}: leave out --pilot."
        )
    return _tuned(settings.pilot, settings.profiles)


def _tuned(pilot: str, folder: Path | None) -> Ear:
    from callout.ear.built_in.ear import open_built_in
    from callout.ear.built_in.place import profiles_folder
    from callout.ear.enrolment import read

    path = (folder or profiles_folder()) / f"{pilot}.json"
    if not path.is_file():
        raise CannotRunError(f"{pilot} is not enrolled; first: callout enrol {pilot}")
    try:
        profile = read(path)
    except ValueError as problem:
        raise CannotRunError(str(problem)) from problem
    ear = open_built_in()
    ear.take(profile)
    return ear
