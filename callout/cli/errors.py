"""The rooms' errors as sentences on standard error, exit status 2, no traceback.

Rule of this file: only errors that are meant for people are caught; a fault of
the program keeps its traceback.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

import click

USER_ERROR = 2
"""Exit status for what the person can put right."""


@contextmanager
def say_errors() -> Iterator[None]:
    """Print what a room has to say and leave with status 2."""
    from callout.checklist.problems import FileProblems
    from callout.ear.problems import EarProblem
    from callout.gauges.feed.problems import FeedProblem
    from callout.glance.problems import GlanceProblem
    from callout.logbook.errors import LogbookError
    from callout.running.problems import CannotRunError
    from callout.voice.protocol import VoiceLost

    try:
        yield
    except FileProblems as error:
        for problem in error.problems:
            click.echo(str(problem), err=True)
        raise SystemExit(USER_ERROR) from None
    except (
        CannotRunError,
        EarProblem,
        FeedProblem,
        GlanceProblem,
        LogbookError,
        VoiceLost,
    ) as error:
        click.echo(str(error), err=True)
        raise SystemExit(USER_ERROR) from None
