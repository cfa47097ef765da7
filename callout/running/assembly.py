"""Parts become a running session: the file is read, the logbook opened, the session run.

Rule of this file: it only chooses the clock; live_run.py and recorded_run.py hold
what each needs, beginning.py what both do.
"""

from __future__ import annotations

import sys

from callout.checklist.load import Loaded, load_all
from callout.checklist.model import ListKind
from callout.logbook.opening_check import at_the_end
from callout.running.conductor import Screen
from callout.running.heap import give_back_freed
from callout.running.live_run import run_live
from callout.running.problems import CannotRunError
from callout.running.quiet import quiet_libraries
from callout.running.recorded_run import run_recorded
from callout.running.settings import RunSettings, keep_recordings
from callout.running.sharing import logbook_of


def run(settings: RunSettings, screen: Screen) -> int:
    """Run a session to its end; returns the exit status.

    Raises CannotRunError, FileProblems, LogbookError, NotARecording and the
    rooms' own errors, each a sentence for people.
    """
    give_back_freed()
    keep_recordings(settings.speak, settings.listen)
    loaded = load_all(settings.aircraft)
    _check_lists(settings, loaded)
    with logbook_of(settings.logbook, _aside) as (logbook, sharing):
        if settings.recording_time:
            done = run_recorded(settings, loaded, logbook, screen)
        else:
            with quiet_libraries():
                done = run_live(settings, loaded, logbook, screen, sharing)
        at_the_end(logbook.file, unclean=logbook.unclean, say=_aside)
        return done


def _aside(text: str) -> None:
    print(text, file=sys.stderr, flush=True)


def _check_lists(settings: RunSettings, loaded: Loaded) -> None:
    known = [c.id for c in loaded.aircraft.lists if c.kind is ListKind.NORMAL]
    for wanted in settings.lists:
        if wanted not in known:
            raise CannotRunError(f"There is no list {wanted!r}; the file has {', '.join(known)}.")
