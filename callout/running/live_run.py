"""A live session: devices, keys, pages and feeds around one conductor.

Rule of this file: everything that can fail at the start fails here, with a sentence;
what was begun is ended in the opposite order, whatever happens.
"""

from __future__ import annotations

import itertools
import sys
from collections.abc import Callable
from contextlib import ExitStack

from callout.checklist.load import Loaded
from callout.checklist.model import Aircraft
from callout.ear.echo_guard import OwnVoiceGuard
from callout.ear.keys_ear import KeysEar
from callout.engine import news, wording, wording_duties, wording_limits
from callout.engine.events import Event, Lost, Stopped
from callout.engine.rules import State
from callout.gauges.feed.places import Way
from callout.logbook.store import Logbook
from callout.running.alike import alike
from callout.running.beginning import begin, finish, record_session, records
from callout.running.clock import RealClock, SessionClock
from callout.running.conductor import Conductor, Screen
from callout.running.feeding import Feeding
from callout.running.glancing import NoGlance, glancing_of
from callout.running.hearing import BUILT_IN, ear_of, get_ready
from callout.running.keeping import Keeper
from callout.running.kept import Kept
from callout.running.keys import Keyed
from callout.running.live import Inbox, LeftError, Listening, Live, NoInputError
from callout.running.moments import Moments, marked_in
from callout.running.opened import came_back, session_opened
from callout.running.playback import Playback
from callout.running.problems import CannotRunError
from callout.running.run_voice import RunVoice
from callout.running.settings import RunSettings
from callout.running.sharing import Alone, Sharing
from callout.running.signals import TERMINATED, obeyed
from callout.running.taking_up import taken_up
from callout.running.terminal_view import view_of
from callout.words.phrases import Grammar


def run_live(
    settings: RunSettings,
    loaded: Loaded,
    logbook: Logbook,
    screen: Screen,
    sharing: Sharing | Alone,
) -> int:
    """Run it to its end; returns the exit status.  Raises CannotRunError and the rooms' errors."""
    inbox, keyed = Inbox(), Keyed(settings)
    moments = marked_in(settings.moments)
    voice_lost, glancing = _once(inbox), glancing_of(settings, loaded.aircraft, inbox)
    voice = RunVoice(settings, lambda lost: voice_lost(str(lost)), moments, glancing.output)
    row, number = begin(settings, loaded, logbook, RealClock())
    session, clock, gap = taken_up(loaded, logbook, row)
    view, playback = view_of(settings, loaded, clock, screen), Playback(clock.now)
    mouth = voice.mouth(voice_lost, playback)
    moments.mark("clock", session=clock.now())
    kept = Kept(Keeper(), logbook, number, clock)
    mouth.recording = kept.recording
    listening = _listening(
        settings, loaded, playback, clock, inbox, moments, view.screen, kept, glancing
    )
    conductor = Conductor(
        session,
        view.watching(glancing.written(logbook, number, session), session),
        clock, mouth, listening.listen_for if listening is not None else _nothing,
        view.screen, voice.at_once, moments, kept,
    )  # fmt: skip
    live = Live(conductor, clock, inbox, KeysEar(clock.now), by_keys_only=listening is None)
    live.aside, live.elsewhere = glancing.typed, glancing.there
    _prepare(voice, loaded.aircraft, voice_lost)
    typed = _can_type(settings, listening, glancing)
    with ExitStack() as ends:  # the last that was begun ends first
        for end in (moments.close, voice.close, lambda: mouth.close(clock.now())):
            ends.callback(end)
        if listening is not None:
            ends.callback(listening.stop)
            listening.listen_for(session.state.grammar)
            listening.start()
        for end in (glancing.stop, view.stop, keyed.stop):
            ends.callback(end)
        keyed.start(clock, inbox, typed=typed, echo=view.echo)
        _feed(settings, loaded, clock, inbox, ends)
        glancing.begin(clock, voice.words)
        gap += glancing.wait()
        view.begin()
        sharing.begin(inbox.put)
        sound_kept = listening is not None and records(settings, loaded)
        if sound_kept:
            record_session(kept, view.screen, clock.now())
        left = None if session.state.mode is State.CLOSED else kept.left_by_kill(session.state)
        stamp = clock.stamp(clock.now())
        if left is not None:
            back = came_back(gap, loaded.aircraft, logbook, number, stamp, left, sharing)
            return _run_loop(live, back)
        first = session_opened(  # new, or killed before its first event
            settings.lists, loaded.aircraft, logbook, number, stamp, settings.pilot,
            recorded=sound_kept, sharing=sharing,
        )  # fmt: skip
        return _run_loop(live, first)


def _can_type(settings: RunSettings, listening: Listening | None, glancing: NoGlance) -> bool:
    """Whether lines can be typed.  Raises CannotRunError if nobody could answer at all."""
    typed = settings.feed is None or settings.feed.way is not Way.STANDARD
    if not (typed or glancing.there) and listening is None:
        raise CannotRunError(
            "--feed - takes the standard input, so no answer can be typed: give a microphone "
            "or a recording with --listen, or another feed."
        )
    return typed


def _prepare(voice: RunVoice, aircraft: Aircraft, lost: Callable[[str], None]) -> None:
    """Every call of the file is made before it is needed, while there is time."""
    if voice.lost:
        lost(voice.lost)
    if voice.words is not None:
        makers = (wording.calls, news.calls, wording_limits.calls, wording_duties.calls)
        voice.words.prepare(itertools.chain(*(maker(aircraft) for maker in makers)))


def _feed(
    settings: RunSettings, loaded: Loaded, clock: SessionClock, inbox: Inbox, ends: ExitStack
) -> None:
    if settings.feed is not None:
        feeding = Feeding(settings.feed, loaded.aircraft.gauges, clock, inbox.put)
        feeding.start()
        ends.callback(feeding.stop)


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
    with obeyed(live) as no_more:
        try:
            live.run(first)
        except KeyboardInterrupt:
            no_more()
            if not live.conductor.session.ended:
                live.conductor.handle(Stopped("stopped at the keyboard"))
        except LeftError as left:
            return _leave(live, nobody=isinstance(left, NoInputError))
        no_more()  # its end is written down: cut in half, it would be taken up once more
        finish(live.conductor, live.clock)
    return 0


def _leave(live: Live, *, nobody: bool) -> int:
    """The session stays as it is, and that is told; returns the exit status."""
    live.conductor.keep(rest=True)
    live.conductor.written.settle(live.clock.stamp(live.clock.now()))
    why = "Nobody can answer any more." if nobody else "callout was told to end."
    print(f"{why} The session is kept: run the same command to go on.", file=sys.stderr)
    return 1 if nobody else TERMINATED


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
