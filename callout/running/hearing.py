"""The ear of a session: by its name, and by the pilot who was enrolled.

Rule of this file: whatever cannot be done is one sentence for people.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Protocol, runtime_checkable

from callout.audio_block import AudioBlock
from callout.checklist.model import Aircraft
from callout.ear.built_in.headset import CHANGED
from callout.ear.choose import make_ear
from callout.ear.protocol import Ear
from callout.engine.events import Heard, NotUnderstood
from callout.running.asked import Kind, asked
from callout.running.problems import CannotRunError
from callout.running.settings import RunSettings
from callout.words.phrases import Grammar

if TYPE_CHECKING:
    from callout.ear.built_in.ear import BuiltInEar

BUILT_IN = "built-in"
CHECKS = 20
"""A headset that was right so often is not looked at any more."""


@runtime_checkable
class Prepares(Protocol):
    """An ear that can make grammars ready before they count, from any thread."""

    def prepare(self, grammars: Sequence[Grammar]) -> None:
        """Do now what would otherwise be waited for at the item."""


def get_ready(ear: Ear, aircraft: Aircraft) -> threading.Thread:
    """Begin to make everything ready that an aircraft's items listen for; `join` waits for it."""
    grammars = [one.grammar for kind in Kind for one in asked(aircraft, kind)]
    work = (lambda: ear.prepare(grammars)) if isinstance(ear, Prepares) else lambda: None
    thread = threading.Thread(target=work, name="grammars", daemon=True)
    thread.start()
    return thread


def _nothing(sentence: str) -> None:
    """Nobody is told."""


def ear_of(
    settings: RunSettings,
    now: Callable[[], float] = time.monotonic,
    tell: Callable[[str], None] = _nothing,
) -> Ear:
    """Return the ear that the settings ask for, tuned to its pilot if one is named.

    `tell` gets a sentence, once, when the pilot is heard through another headset than he was
    enrolled with. Raises EarProblem, and CannotRunError for a pilot who cannot be listened for.
    """
    if not settings.pilot:
        return make_ear(settings.ear, settings.model, now=now)
    if settings.ear != BUILT_IN:
        raise CannotRunError(
            f"Only the built-in ear knows pilots, not {settings.ear}: leave out --pilot."
        )
    return _tuned(settings.pilot, settings.profiles, tell)


def _tuned(pilot: str, folder: Path | None, tell: Callable[[str], None]) -> Ear:
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
    return Noticing(ear, pilot, tell)


class Noticing:
    """The built-in ear of an enrolled pilot, that tells once of another headset.

    It looks after each utterance, until it was sure CHECKS times that nothing changed.

    Fields:
        name, rate: as in callout.ear.protocol.Ear
        ear: the one that hears
    """

    def __init__(self, ear: BuiltInEar, pilot: str, tell: Callable[[str], None]) -> None:
        self.name, self.rate = ear.name, ear.rate
        self.ear = ear
        self._sentence = f"This does not sound like the headset {pilot} was enrolled with."
        self._tell = tell
        self._checks = CHECKS

    def listen_for(self, grammar: Grammar) -> None:
        """As the ear does."""
        self.ear.listen_for(grammar)

    def prepare(self, grammars: Sequence[Grammar]) -> None:
        """As the ear does."""
        self.ear.prepare(grammars)

    def hear(self, sound: AudioBlock | str) -> Sequence[Heard | NotUnderstood]:
        """As the ear does."""
        events = self.ear.hear(sound)
        if events and self._checks:
            self._look()
        return events

    def close(self) -> None:
        """As the ear does."""
        self.ear.close()

    def _look(self) -> None:
        apart = self.ear.headset_apart()
        if apart is None:  # too little was heard, so far
            return
        changed = apart > CHANGED
        self._checks = 0 if changed else self._checks - 1
        if changed:
            self._tell(self._sentence)
