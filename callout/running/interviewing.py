"""The interview asked aloud: callout runs it as a list of its own.

Rule of this file: it only carries; the questions are in writing/interview.py, and
asking and hearing is what every session does.
"""

from __future__ import annotations

import tempfile
from dataclasses import replace
from pathlib import Path

from callout.logbook.store import Logbook
from callout.running.assembly import run
from callout.running.conductor import Screen
from callout.running.problems import CannotRunError
from callout.running.settings import RunSettings
from callout.writing.interview import QUESTIONS, as_list


def asked_aloud(settings: RunSettings, screen: Screen) -> dict[str, str]:
    """Question -> way, as answered.  `settings` says with which ear and voice.

    Raises CannotRunError where the interview was left before its end.
    """
    with tempfile.TemporaryDirectory() as folder:
        there = Path(folder)
        aircraft, logbook = there / "interview.yaml", there / "interview.db"
        aircraft.write_text(as_list(), encoding="utf-8")
        run(_with(settings, aircraft, logbook), screen)
        with Logbook.open(logbook) as written:
            ways = _answers(written)
    missing = [one.call for one in QUESTIONS if one.key not in ways]
    if missing:
        raise CannotRunError(
            f"Not answered: {', '.join(missing)}. No file was written; run the same command again."
        )
    return ways


def _with(settings: RunSettings, aircraft: Path, logbook: Path) -> RunSettings:
    return replace(settings, aircraft=aircraft, logbook=logbook, lists=(), resume=False)


def _answers(logbook: Logbook) -> dict[str, str]:
    """The last way chosen at each question."""
    known = {one.key: {way.key for way in one.ways} for one in QUESTIONS}
    ways: dict[str, str] = {}
    for row in logbook.sessions():
        for _, fact in logbook.facts(row.session):
            question = fact.about.partition("/")[2]
            said = dict(fact.data).get("answer", "")
            if fact.fact == "ticked" and said in known.get(question, ()):
                ways[question] = said
    return ways
