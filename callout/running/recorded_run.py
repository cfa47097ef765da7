"""A session from a recording, in the recording's own time.

Rule of this file: nothing waits; the same recording gives the same log.
"""

from __future__ import annotations

from pathlib import Path

from callout.checklist.load import Loaded
from callout.ear.from_file import blocks as file_blocks
from callout.ear.from_file import check as check_recording
from callout.engine.events import SessionOpened
from callout.engine.session import Session
from callout.gauges.feed.places import Way
from callout.logbook.store import Logbook
from callout.running.beginning import begin, finish, record_session, records
from callout.running.clock import RecordingClock
from callout.running.conductor import SETTLED_RECORDED, Conductor, Screen, Written
from callout.running.feeding import NoFeed, RecordedFeed
from callout.running.hearing import ear_of
from callout.running.keeping import Keeper
from callout.running.kept import Kept
from callout.running.keys import refuse_keys
from callout.running.problems import CannotRunError
from callout.running.recorded import Recorded
from callout.running.run_voice import RunVoice
from callout.running.settings import RunSettings


def run_recorded(settings: RunSettings, loaded: Loaded, logbook: Logbook, screen: Screen) -> int:
    """Run it to its end; returns the exit status.  Raises CannotRunError."""
    if not isinstance(settings.listen, Path):
        raise CannotRunError("--clock recording needs a recording: --listen FILE.wav.")
    refuse_keys(settings)
    if settings.view:
        raise CannotRunError("--view needs --clock real: recording time is too quick to look at.")
    check_recording(settings.listen)  # before a session is begun for it
    feed = _recorded_feed(settings, loaded)
    clock = RecordingClock()
    ear = ear_of(settings)
    voice = RunVoice(settings, lambda lost: None)
    row, number = begin(settings, loaded, logbook, clock)
    past = logbook.events(number) if row is not None else []
    if row is not None:
        screen.line(0.0, "note", f"Session {number} was not finished: taken up where it stopped.")
    lost: list[str] = [voice.lost] if voice.lost else []
    kept = Kept(Keeper(), logbook, number, clock)
    mouth = voice.mouth(lost.append)
    mouth.recording = kept.recording
    conductor = Conductor(
        Session(loaded.aircraft),
        Written(logbook, number, SETTLED_RECORDED),
        clock,
        mouth,
        ear.listen_for,
        screen,
        at_once=lambda text: True,  # making a sentence takes no recording time
        kept=kept,
    )
    recorded = Recorded(conductor, clock, ear, file_blocks(settings.listen), past, lost, feed)
    sound_kept = records(settings, loaded)
    if sound_kept:
        record_session(kept, screen, 0.0)
    try:
        recorded.run(SessionOpened(settings.lists, recorded=sound_kept))
    finally:
        conductor.mouth.close(clock.now())
        voice.close()
        ear.close()
    finish(conductor, clock)
    return 0


def _recorded_feed(settings: RunSettings, loaded: Loaded) -> NoFeed | RecordedFeed:
    if settings.feed is None:
        return NoFeed()
    if settings.feed.way is not Way.FILE:
        raise CannotRunError("--clock recording needs a recorded feed: --feed FILE.csv.")
    return RecordedFeed(Path(settings.feed.name), loaded.aircraft.gauges)
