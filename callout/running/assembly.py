"""Parts become a running session: files are read, devices opened, a session taken up.

Rule of this file: everything that can fail at the start fails here, with a
sentence; what fails later becomes a Lost event.
"""

from __future__ import annotations

import hashlib
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

from callout.audio_block import AudioBlock
from callout.checklist.load import Loaded, load_all
from callout.checklist.model import ListKind
from callout.ear.capture import Microphone
from callout.ear.choose import make_ear
from callout.ear.from_file import blocks as file_blocks
from callout.ear.keys_ear import KeysEar
from callout.engine import wording
from callout.engine.events import Event, Lost, Resumed, SessionOpened, Stopped
from callout.engine.session import Session
from callout.logbook.rows import SessionRow
from callout.logbook.stamp import elapsed
from callout.logbook.store import Logbook
from callout.running.clock import RECORDING, RealClock, RecordingClock, SessionClock
from callout.running.conductor import Conductor, Screen, Written
from callout.running.live import Inbox, Keyboard, Listening, Live, NoInputError
from callout.running.mouth import Mouth, Output, Words
from callout.running.outputs import Nowhere, PreparedWords, ToFile, ToLoudspeaker, prepared_words
from callout.running.problems import CannotRunError
from callout.running.recorded import Recorded
from callout.running.settings import Device, RunSettings
from callout.voice.loudspeaker import Loudspeaker
from callout.voice.protocol import VoiceLost
from callout.words.phrases import Grammar

DEAF_AFTER_SPEECH = 0.25
"""Seconds for which the ear stays closed after a sentence: a room's echo of it."""


def run(settings: RunSettings, screen: Screen) -> int:
    """Run a session to its end; returns the exit status.

    Raises CannotRunError, FileProblems, LogbookError, NotARecording and the
    rooms' own errors, each a sentence for people.
    """
    loaded = load_all(settings.aircraft)
    _check_lists(settings, loaded)
    with Logbook.open(settings.logbook) as logbook:
        if settings.recording_time:
            return _run_recorded(settings, loaded, logbook, screen)
        return _run_live(settings, loaded, logbook, screen)


def _check_lists(settings: RunSettings, loaded: Loaded) -> None:
    known = [c.id for c in loaded.aircraft.lists if c.kind is ListKind.NORMAL]
    for wanted in settings.lists:
        if wanted not in known:
            raise CannotRunError(f"There is no list {wanted!r}; the file has {', '.join(known)}.")


class _Voice:
    """Words and output for a run, and the sentence to say if there is no voice."""

    def __init__(self, settings: RunSettings, on_lost: Callable[[VoiceLost], None]) -> None:
        self.lost = ""
        self.words: PreparedWords | None = None
        self.output: Output = Nowhere()
        try:
            if settings.speak is not None:
                self.output = _output(settings.speak, on_lost)
                self.words = prepared_words(settings.voice, settings.clips)
        except VoiceLost as lost:
            self.lost = str(lost)

    def mouth(self, on_lost: Callable[[str], None]) -> Mouth:
        """A mouth that speaks, or one that only keeps the time of reading."""
        words: Words | None = self.words
        return Mouth(words, self.output, on_lost)

    def close(self) -> None:
        """Stop preparing clips."""
        if self.words is not None:
            self.words.close()


def _output(speak: Device | Path, on_lost: Callable[[VoiceLost], None]) -> Output:
    if isinstance(speak, Path):
        return ToFile(speak)
    return ToLoudspeaker(Loudspeaker(speak.words, on_lost))


def _key(settings: RunSettings, loaded: Loaded) -> str:
    """What an unfinished session must have been made from to be taken up."""
    if not settings.recording_time or not isinstance(settings.listen, Path):
        return loaded.fingerprint
    digest = hashlib.sha256(loaded.fingerprint.encode())
    digest.update(settings.listen.read_bytes())
    digest.update(" ".join((settings.ear, settings.voice, *settings.lists)).encode())
    return digest.hexdigest()


def _unfinished(settings: RunSettings, key: str, logbook: Logbook) -> SessionRow | None:
    if not settings.resume:
        return None
    row = logbook.unfinished(fingerprint=key)
    if row is None:
        return None
    recorded = row.began.boot_id == RECORDING
    return row if recorded == settings.recording_time else None


def _begin(
    settings: RunSettings, loaded: Loaded, logbook: Logbook, clock: SessionClock
) -> tuple[SessionRow | None, int]:
    """The session to take up, if there is one, and the number to write under."""
    key = _key(settings, loaded)
    row = _unfinished(settings, key, logbook)
    if row is not None:
        return row, row.session
    aircraft = loaded.aircraft
    name, file = aircraft.name, str(settings.aircraft)
    return None, logbook.begin(name, aircraft.revision, file, key, clock.stamp(0.0))


def _run_recorded(settings: RunSettings, loaded: Loaded, logbook: Logbook, screen: Screen) -> int:
    if not isinstance(settings.listen, Path):
        raise CannotRunError("--clock recording needs a recording: --listen FILE.wav.")
    clock = RecordingClock()
    ear = make_ear(settings.ear, settings.model)
    voice = _Voice(settings, lambda lost: None)
    row, number = _begin(settings, loaded, logbook, clock)
    past = logbook.events(number) if row is not None else []
    if row is not None:
        screen.line(0.0, "note", f"Session {number} was not finished: taken up where it stopped.")
    lost: list[str] = [voice.lost] if voice.lost else []
    conductor = Conductor(
        Session(loaded.aircraft),
        Written(logbook, number),
        clock,
        voice.mouth(lost.append),
        ear.listen_for,
        screen,
    )
    recorded = Recorded(conductor, clock, ear, file_blocks(settings.listen), past, lost)
    try:
        recorded.run(SessionOpened(settings.lists))
    finally:
        conductor.mouth.close(clock.now())
        voice.close()
        ear.close()
    _finish(conductor, clock)
    return 0


def _finish(conductor: Conductor, clock: SessionClock) -> None:
    logbook = conductor.written.logbook
    if logbook is not None:
        logbook.finish(conductor.written.session, "ended", clock.stamp(clock.now()))


def _run_live(settings: RunSettings, loaded: Loaded, logbook: Logbook, screen: Screen) -> int:
    inbox: Inbox = Inbox()
    voice = _Voice(settings, lambda lost: inbox.put(Lost("voice", str(lost))))
    row, number = _begin(settings, loaded, logbook, RealClock())
    session, clock, gap = _taken_up(loaded, logbook, row)
    mouth = voice.mouth(lambda why: inbox.put(Lost("voice", why)))
    listening = _listening(settings, mouth, clock, inbox)
    listen = listening.listen_for if listening is not None else _nothing
    conductor = Conductor(session, Written(logbook, number), clock, mouth, listen, screen)
    live = Live(conductor, clock, inbox, KeysEar(clock.now), by_keys_only=listening is None)
    if voice.words is not None:
        voice.words.prepare(wording.calls(loaded.aircraft))
    if voice.lost:
        inbox.put(Lost("voice", voice.lost))
    if listening is not None:
        listening.listen_for(session.state.grammar)
        listening.start()
    Keyboard(sys.stdin, inbox).start()
    try:
        return _run_loop(live, Resumed(gap) if row is not None else SessionOpened(settings.lists))
    finally:
        if listening is not None:
            listening.stop()
        mouth.close(clock.now())
        voice.close()


def _nothing(grammar: Grammar) -> None:
    """Typed lines are judged against the session's own grammar."""


def _run_loop(live: Live, first: Event) -> int:
    try:
        live.run(first)
    except KeyboardInterrupt:
        live.conductor.handle(Stopped("stopped at the keyboard"))
    except NoInputError:
        live.conductor.mouth.close(live.clock.now())
        note = "Nobody can answer any more. The session is kept: run the same command to go on."
        print(note, file=sys.stderr)
        return 1
    _finish(live.conductor, live.clock)
    return 0


def _taken_up(
    loaded: Loaded, logbook: Logbook, row: SessionRow | None
) -> tuple[Session, RealClock, float]:
    """The session as it stood, a clock that went on meanwhile, and the seconds missed."""
    session = Session(loaded.aircraft)
    if row is None:
        return session, RealClock(), 0.0
    at = row.began.now
    for at, event in logbook.events(row.session):
        session.handle(event, at)
    last = row.last or row.began
    gap = elapsed(last, RealClock().stamp(0.0))
    return session, RealClock(starts_at=max(at, last.now) + gap), gap


def _listening(
    settings: RunSettings, mouth: Mouth, clock: SessionClock, inbox: Inbox
) -> Listening | None:
    if settings.ear == "keys" or settings.listen is None:
        return None
    ear = make_ear(settings.ear, settings.model, now=clock.now)
    spoke_until = _spoke_until(mouth, clock)
    deaf = (lambda: False) if settings.headset else spoke_until
    return Listening(ear, _source(settings, clock), inbox, deaf)


def _spoke_until(mouth: Mouth, clock: SessionClock) -> Callable[[], bool]:
    """Whether callout speaks, or did a moment ago."""
    last = [-DEAF_AFTER_SPEECH]

    def speaks() -> bool:
        if mouth.has_voice and mouth.ends_at is not None:
            last[0] = clock.now()
        return clock.now() - last[0] < DEAF_AFTER_SPEECH

    return speaks


def _source(
    settings: RunSettings, clock: SessionClock
) -> Callable[[], Iterator[AudioBlock | None]]:
    if isinstance(settings.listen, Path):
        path = settings.listen
        return lambda: _paced(file_blocks(path), clock)
    words = settings.listen.words if settings.listen is not None else ""
    return lambda: _caught(words, clock)


def _caught(words: str, clock: SessionClock) -> Iterator[AudioBlock | None]:
    """What a microphone gives; None now and then, so that a listener can stop."""
    microphone = Microphone(words, now=clock.now)
    try:
        while True:
            yield microphone.read()
    finally:
        microphone.close()


def _paced(blocks: Iterator[AudioBlock], clock: SessionClock) -> Iterator[AudioBlock]:
    """A recording as if it were heard now."""
    began = clock.now()
    for block in blocks:
        moved = AudioBlock(block.samples, block.rate, began + block.captured_at)
        time.sleep(max(0.0, moved.ends_at - clock.now()))
        yield moved
