"""Sentences of a drill that are known before it begins, so that they can be made ahead.

Rule of this file: in the order in which they will be wanted; nothing with a figure that
only the machine will show.
"""

from __future__ import annotations

from collections.abc import Iterator

from callout.trainer.model import PEOPLE
from callout.trainer.session import DrillSession


def known_sentences(session: DrillSession) -> Iterator[str]:
    """The calls, the coaching and the words for a miss."""
    state = session.state
    for line in session.drill.lines:
        if state.is_mine(line):
            if state.coached:
                who = f"{line.who.value.capitalize()}, say" if len(state.roles) > 1 else "Say"
                yield f"{who}: {line.words[0]}."
            yield f"Missed: {line.words[0]}."
        elif "{" not in line.say:
            yield f"{line.who.value.capitalize()}: {line.say}" if line.who in PEOPLE else line.say
