"""Parts become a running session: files are read, devices opened, a session taken up.

Rule of this file: everything that can fail at the start fails here, with a
sentence; what fails later becomes a Lost event.
"""

from __future__ import annotations

import hashlib
import itertools
import sys
from collections.abc import Callable
from pathlib import Path

from callout.checklist.load import Loaded, load_all
from callout.checklist.model import ListKind
from callout.ear.echo_guard import OwnVoiceGuard
from callout.ear.from_file import blocks as file_blocks
from callout.ear.keys_ear import KeysEar
from callout.engine import news, wording, wording_duties, wording_limits
from callout.engine.events import Event, Lost, SessionOpened, Stopped
from callout.engine.rules import State
from callout.engine.session import Session
from callout.gauges.feed.places import Way
from callout.gauges.feed.sources import chunks
from callout.logbook.opening_check import at_the_end
from callout.logbook.rows import SessionRow
from callout.logbook.stamp import RECORDING, elapsed
from callout.logbook.store import Logbook
from callout.running.alike import alike
from callout.running.clock import RealClock, RecordingClock, SessionClock
from callout.running.conductor import SETTLED_RECORDED, Conductor, Screen, Written
from callout.running.feeding import Feeding, NoFeed, RecordedFeed
from callout.running.glancing import NoGlance, glancing_of
from callout.running.heap import give_back_freed
from callout.running.hearing import BUILT_IN, ear_of, get_ready
from callout.running.keeping import Keeper
from callout.running.kept import Kept
from callout.running.keys import Keyed, refuse_keys
from callout.running.live import Inbox, LeftError, Listening, Live, NoInputError
from callout.running.moments import Moments, marked_in
from callout.running.opened import came_back, session_opened
from callout.running.playback import Playback
from callout.running.problems import CannotRunError
from callout.running.quiet import quiet_libraries
from callout.running.recorded import Recorded
from callout.running.run_voice import RunVoice
from callout.running.settings import RunSettings
from callout.running.sharing import Alone, Sharing, logbook_of
from callout.running.signals import TERMINATED, obeyed
from callout.running.taking_up import taken_up
from callout.running.terminal_view import view_of
from callout.running.trend_remarks import find
from callout.words.phrases import Grammar

RECORDED = "The sound of this session is kept; `callout log purge` removes it."

LONGEST_GAP = 12 * 3600.0
"""Seconds after which an unfinished session is another day's: its answers say nothing
about the machine as it stands now (common practice, no source)."""


def run(settings: RunSettings, screen: Screen) -> int:
    """Run a session to its end; returns the exit status.

    Raises CannotRunError, FileProblems, LogbookError, NotARecording and the
    rooms' own errors, each a sentence for people.
    """
    give_back_freed()
    loaded = load_all(settings.aircraft)
    _check_lists(settings, loaded)
    with logbook_of(settings.logbook, _aside) as (logbook, sharing):
        if settings.recording_time:
            done = _run_recorded(settings, loaded, logbook, screen)
        else:
            with quiet_libraries():
                done = _run_live(settings, loaded, logbook, screen, sharing)
        at_the_end(logbook.file, unclean=logbook.unclean, say=_aside)
        return done


def _aside(text: str) -> None:
    print(text, file=sys.stderr, flush=True)


def _check_lists(settings: RunSettings, loaded: Loaded) -> None:
    known = [c.id for c in loaded.aircraft.lists if c.kind is ListKind.NORMAL]
    for wanted in settings.lists:
        if wanted not in known:
            raise CannotRunError(f"There is no list {wanted!r}; the file has {', '.join(known)}.")


def _key(settings: RunSettings, loaded: Loaded) -> str:
    """What an unfinished session must have been made from to be taken up."""
    if not settings.recording_time or not isinstance(settings.listen, Path):
        return loaded.fingerprint
    digest = hashlib.sha256(loaded.fingerprint.encode())
    digest.update(settings.listen.read_bytes())
    if settings.feed is not None and settings.feed.way is Way.FILE:
        digest.update(b"".join(filter(None, chunks(settings.feed))))
    digest.update(" ".join((settings.ear, settings.voice, *settings.lists)).encode())
    return digest.hexdigest()


def _unfinished(settings: RunSettings, key: str, logbook: Logbook) -> SessionRow | None:
    """The last session without an end that was made from the same, in the same time."""
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
        ended = _why_not(settings, row, clock)
        if not ended:
            return row, row.session
        logbook.finish(row.session, ended, clock.stamp(row.began.now))
    aircraft = loaded.aircraft
    name, file = aircraft.name, str(settings.aircraft)
    return None, logbook.begin(name, aircraft.revision, file, key, clock.stamp(0.0))


def _why_not(settings: RunSettings, row: SessionRow, clock: SessionClock) -> str:
    """Why an unfinished session is not taken up; "" when it is."""
    if not settings.resume:
        return "given up"
    if settings.recording_time:
        return ""
    missed = elapsed(row.last or row.began, clock.stamp(0.0))
    return "too long ago" if missed > LONGEST_GAP else ""


def _run_recorded(settings: RunSettings, loaded: Loaded, logbook: Logbook, screen: Screen) -> int:
    if not isinstance(settings.listen, Path):
        raise CannotRunError("--clock recording needs a recording: --listen FILE.wav.")
    refuse_keys(settings)
    if settings.view:
        raise CannotRunError("--view needs --clock real: recording time is too quick to look at.")
    feed = _recorded_feed(settings, loaded)
    clock = RecordingClock()
    ear = ear_of(settings)
    voice = RunVoice(settings, lambda lost: None)
    row, number = _begin(settings, loaded, logbook, clock)
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
    sound_kept = _records(settings, loaded)
    if sound_kept:
        _record_session(kept, screen, 0.0)
    try:
        recorded.run(SessionOpened(settings.lists, recorded=sound_kept))
    finally:
        conductor.mouth.close(clock.now())
        voice.close()
        ear.close()
    _finish(conductor, clock)
    return 0


def _recorded_feed(settings: RunSettings, loaded: Loaded) -> NoFeed | RecordedFeed:
    if settings.feed is None:
        return NoFeed()
    if settings.feed.way is not Way.FILE:
        raise CannotRunError("--clock recording needs a recorded feed: --feed FILE.csv.")
    return RecordedFeed(Path(settings.feed.name), loaded.aircraft.gauges)


def _records(settings: RunSettings, loaded: Loaded) -> bool:
    """Whether the sound of the whole session is kept."""
    asked = settings.record_session
    return loaded.aircraft.settings.record_session if asked is None else asked


def _record_session(kept: Kept, screen: Screen, now: float) -> None:
    kept.begin_session(now)
    screen.line(now, "note", RECORDED)


def _finish(conductor: Conductor, clock: SessionClock) -> None:
    conductor.keep(rest=True)
    logbook = conductor.written.logbook
    if logbook is not None:
        stamp = clock.stamp(clock.now())
        find(logbook, conductor.session.aircraft, conductor.written.session, stamp)
        logbook.finish(conductor.written.session, "ended", stamp)


def _run_live(
    settings: RunSettings,
    loaded: Loaded,
    logbook: Logbook,
    screen: Screen,
    sharing: Sharing | Alone,
) -> int:
    inbox: Inbox = Inbox()
    keyed = Keyed(settings)
    moments = marked_in(settings.moments)
    voice_lost = _once(inbox)
    glancing = glancing_of(settings, loaded.aircraft, inbox)
    voice = RunVoice(settings, lambda lost: voice_lost(str(lost)), moments, glancing.output)
    row, number = _begin(settings, loaded, logbook, RealClock())
    session, clock, gap = taken_up(loaded, logbook, row)
    view = view_of(settings, loaded, clock, screen)
    screen = view.screen
    playback = Playback(clock.now)
    mouth = voice.mouth(voice_lost, playback)
    moments.mark("clock", session=clock.now())
    kept = Kept(Keeper(), logbook, number, clock)
    mouth.recording = kept.recording
    listening = _listening(
        settings, loaded, playback, clock, inbox, moments, screen, kept, glancing
    )
    listen = listening.listen_for if listening is not None else _nothing
    written = view.watching(glancing.written(logbook, number, session), session)
    conductor = Conductor(
        session, written, clock, mouth, listen, screen, voice.at_once, moments, kept
    )
    live = Live(conductor, clock, inbox, KeysEar(clock.now), by_keys_only=listening is None)
    live.aside, live.elsewhere = glancing.typed, glancing.there
    if voice.words is not None:
        makers = (wording.calls, news.calls, wording_limits.calls, wording_duties.calls)
        known = tuple(maker(loaded.aircraft) for maker in makers)
        voice.words.prepare(itertools.chain(*known))
    if voice.lost:
        voice_lost(voice.lost)
    if listening is not None:
        listening.listen_for(session.state.grammar)
        listening.start()
    typed = settings.feed is None or settings.feed.way is not Way.STANDARD
    if not (typed or glancing.there) and listening is None:
        raise CannotRunError(
            "--feed - takes the standard input, so no answer can be typed: give a microphone "
            "or a recording with --listen, or another feed."
        )
    keyed.start(clock, inbox, typed=typed, echo=view.echo)
    feeding = _feeding(settings, loaded, clock, inbox)
    try:
        glancing.begin(clock, voice.words)
        gap += glancing.wait()
        view.begin()
        sharing.begin(inbox.put)
        # One that was killed before its first event was never opened.
        opened = session.state.mode is not State.CLOSED
        sound_kept = listening is not None and _records(settings, loaded)
        if sound_kept:
            _record_session(kept, screen, clock.now())
        stamp = clock.stamp(clock.now())
        if opened:
            left = kept.left_by_kill(session.state)
            back = came_back(gap, loaded.aircraft, logbook, number, stamp, left, sharing)
            return _run_loop(live, back)
        first = session_opened(
            settings.lists,
            loaded.aircraft,
            logbook,
            number,
            stamp,
            settings.pilot,
            recorded=sound_kept,
            sharing=sharing,
        )
        return _run_loop(live, first)
    finally:
        if feeding is not None:
            feeding.stop()
        keyed.stop()
        view.stop()
        glancing.stop()
        if listening is not None:
            listening.stop()
        mouth.close(clock.now())
        voice.close()
        moments.close()


def _feeding(
    settings: RunSettings, loaded: Loaded, clock: SessionClock, inbox: Inbox
) -> Feeding | None:
    if settings.feed is None:
        return None
    feeding = Feeding(settings.feed, loaded.aircraft.gauges, clock, inbox.put)
    feeding.start()
    return feeding


def _once(inbox: Inbox) -> Callable[[str], None]:
    """Give what reports the voice lost, the first time it is told so by whichever part."""
    reports = itertools.count()

    def lost(why: str) -> None:
        if next(reports) == 0:
            inbox.put(Lost("voice", why))

    return lost


def _nothing(grammar: Grammar) -> None:
    """Typed lines are judged against the session's own grammar."""


def _run_loop(live: Live, first: Event) -> int:
    try:
        with obeyed(live):
            live.run(first)
    except KeyboardInterrupt:
        if not live.conductor.session.ended:
            live.conductor.handle(Stopped("stopped at the keyboard"))
    except LeftError as left:
        live.conductor.keep(rest=True)
        live.conductor.written.settle(live.clock.stamp(live.clock.now()))
        nobody = isinstance(left, NoInputError)
        why = "Nobody can answer any more." if nobody else "callout was told to end."
        print(f"{why} The session is kept: run the same command to go on.", file=sys.stderr)
        return 1 if nobody else TERMINATED
    _finish(live.conductor, live.clock)
    return 0


def _listening(
    settings: RunSettings,
    loaded: Loaded,
    playback: Playback,
    clock: SessionClock,
    inbox: Inbox,
    moments: Moments,
    screen: Screen,
    kept: Kept,
    glancing: NoGlance,
) -> Listening | None:
    if settings.ear == "keys" or settings.listen is None:
        return None
    ear = ear_of(settings, clock.now, lambda why: inbox.put(Lost("headset", why)))
    get_ready(ear, loaded.aircraft)
    if settings.ear == BUILT_IN:
        for pair in alike(loaded.aircraft):
            screen.line(clock.now(), "note", pair.sentence())
    if not settings.headset:
        ear = OwnVoiceGuard(ear, playback)
    return Listening(ear, glancing.source(settings, clock), inbox, moments, kept.keeper.hear)
