"""A drill becomes a running practice: files, voice, ears, clock, and what is written down.

Rule of this file: as live_run.py and recorded_run.py, with whose parts it works. What
was practised is written down before its debrief is said.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from callout.audio_block import AudioBlock
from callout.ear.echo_guard import OwnVoiceGuard
from callout.ear.from_file import blocks as file_blocks
from callout.ear.from_file import check as check_recording
from callout.ear.keys_ear import KeysEar
from callout.ear.protocol import Ear
from callout.engine.effects import Effect, Record
from callout.engine.events import Event, Lost, SessionOpened, Stopped
from callout.logbook.stamp import Stamp
from callout.running.clock import RealClock, RecordingClock, SessionClock
from callout.running.conductor import Conductor, Screen, Written
from callout.running.hearing import Prepares, ear_of
from callout.running.live import Inbox, Keyboard, LeftError, Listening, Live
from callout.running.mouth import Mouth
from callout.running.playback import Playback
from callout.running.problems import CannotRunError
from callout.running.quiet import quiet_libraries
from callout.running.recorded import Recorded
from callout.running.run_voice import RunVoice
from callout.running.settings import Device, RunSettings, keep_recordings
from callout.running.signals import obeyed
from callout.running.sources import source
from callout.running.train_ears import PairedEar, Tagged, Whose
from callout.trainer.load import LoadedDrill
from callout.trainer.model import PEOPLE
from callout.trainer.scoring import Result
from callout.trainer.sentences import known_sentences
from callout.trainer.session import PRACTISED, DrillSession, Practice
from callout.trainer.words_of import grammar_of

Keep = Callable[[Result], None]
"""Writes a result down.  Raises LogbookError."""

Note = Callable[[DrillSession], None]
"""Is shown the drill after each step.  Raises LogbookError."""


def _unnoted(session: DrillSession) -> None:
    """Nothing is written of a drill that goes on."""
    del session


@dataclass(frozen=True, slots=True)
class TrainSettings:
    """One practice.

    Fields:
        run: devices, voice, ear and clock, as of a session
        practice: roles, coaching, the day's seed
        second: where the helper is heard when both train, each at his own microphone
    """

    run: RunSettings
    practice: Practice
    second: Device | Path | None = None


class WrittenDown(Written):
    """Keeps a drill's result when the drill says that it was practised, and how it goes on."""

    def __init__(self, session: DrillSession, keep: Keep, note: Note) -> None:
        super().__init__(None, 0)
        self._session = session
        self._keep = keep
        self._note = note

    def append(self, event: Event, effects: tuple[Effect, ...], stamp: Stamp) -> None:
        """Write the result, once.  Raises LogbookError."""
        del event, stamp
        if any(isinstance(one, Record) and one.fact == PRACTISED for one in effects):
            self._keep(self._session.result)
        self._note(self._session)


def train(
    loaded: LoadedDrill, settings: TrainSettings, screen: Screen, keep: Keep, note: Note = _unnoted
) -> Result:
    """Run one drill to its end; its result, counted or not.

    Raises CannotRunError, NotARecording and the rooms' own errors, each a sentence.
    """
    keep_recordings(settings.run.speak, settings.run.listen, settings.second)
    session = DrillSession(loaded.drill, loaded.aircraft.aircraft, settings.practice)
    if settings.run.recording_time:
        _recorded(session, settings, screen, keep, note)
    else:
        with quiet_libraries():
            _live(session, settings, screen, keep, note)
    return session.result


def conduct(
    session: DrillSession, ear: Ear, blocks: Iterable[AudioBlock], screen: Screen, keep: Keep,
    mouth: Mouth, lost: list[str] | None = None, note: Note = _unnoted,
) -> None:  # fmt: skip
    """Run a drill over sound, in recording time."""
    clock = RecordingClock()
    conductor = Conductor(
        session, WrittenDown(session, keep, note), clock, mouth, ear.listen_for, screen,
        at_once=lambda text: True,
    )  # fmt: skip
    recorded = Recorded(conductor, clock, ear, blocks, [], lost if lost is not None else [])
    try:
        recorded.run(SessionOpened())
    finally:
        mouth.close(clock.now())


def _recorded(
    session: DrillSession, settings: TrainSettings, screen: Screen, keep: Keep, note: Note
) -> None:
    run = settings.run
    if not isinstance(run.listen, Path):
        raise CannotRunError("--clock recording needs a recording: --listen FILE.wav.")
    check_recording(run.listen)  # before a drill is begun
    ear: Ear = ear_of(run)
    if settings.second is not None:
        if not isinstance(settings.second, Path):
            raise CannotRunError(
                "--clock recording needs two recordings: --listen FILE --listen FILE."
            )
        check_recording(settings.second)
        ear = PairedEar(ear, ear_of(run), file_blocks(settings.second))
    voice = RunVoice(run, lambda gone: None)
    lost = [voice.lost] if voice.lost else []
    try:
        mouth = voice.mouth(lost.append)
        conduct(session, ear, file_blocks(run.listen), screen, keep, mouth, lost, note)
    finally:
        voice.close()
        ear.close()


def _live(
    session: DrillSession, settings: TrainSettings, screen: Screen, keep: Keep, note: Note
) -> None:
    inbox: Inbox = Inbox()
    clock = RealClock()
    playback = Playback(clock.now)

    def voice_lost(why: str) -> None:
        inbox.put(Lost("voice", why))

    voice = RunVoice(settings.run, lambda gone: voice_lost(str(gone)))
    mouth = voice.mouth(voice_lost, playback)
    ears = _listening(session, settings, playback, clock, inbox)

    def listen(grammar: object) -> None:
        for one in ears:
            one.listen_for(session.state.grammar)
        del grammar

    conductor = Conductor(
        session, WrittenDown(session, keep, note), clock, mouth, listen, screen, voice.at_once
    )
    # Where one of two microphones is lost, the other person still answers.
    live = Live(
        conductor, clock, inbox, KeysEar(clock.now), by_keys_only=not ears, elsewhere=len(ears) > 1
    )
    if voice.words is not None:
        voice.words.prepare(known_sentences(session))
    if voice.lost:
        voice_lost(voice.lost)
    for one in ears:
        one.start()
    Keyboard(sys.stdin, inbox).start()
    try:
        with obeyed(live):
            live.run(SessionOpened())
    except KeyboardInterrupt:
        conductor.handle(Stopped("stopped at the keyboard"))
    except LeftError:
        conductor.handle(Stopped("nobody can answer any more"))
    finally:
        for one in ears:
            one.stop()
        mouth.close(clock.now())
        voice.close()


def _listening(
    session: DrillSession, settings: TrainSettings, playback: Playback, clock: SessionClock,
    inbox: Inbox,
) -> Sequence[Listening]:  # fmt: skip
    """The ears that listen, each on a thread of its own: none, one, or one a person."""
    run = settings.run
    places = [place for place in (run.listen, settings.second) if place is not None]
    if run.ear == "keys" or not places:
        return ()
    ears = []
    for place, who in zip(places, PEOPLE, strict=False):
        ear: Ear = ear_of(run, clock.now)
        _prepare(ear, session)
        if not run.headset:
            ear = OwnVoiceGuard(ear, playback)
        takes = inbox
        if len(places) > 1:
            ear, takes = Tagged(ear, who), Whose(inbox, who)
        ears.append(Listening(ear, source(place, clock), takes))
    return ears


def _prepare(ear: Ear, session: DrillSession) -> None:
    """The drill's words are made ready before they count."""
    if isinstance(ear, Prepares):
        ear.prepare([grammar_of(session.drill, session.aircraft, session.state)])
