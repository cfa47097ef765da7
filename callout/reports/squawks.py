"""Squawks of a session for its report: what was found, its recording, what became of it.

Rule of this file: it reads; a recording goes into the page as it was kept, cut at its
end. Text that a machine wrote down never stands without "unverified".
"""

from __future__ import annotations

import base64
from collections.abc import Iterator

from callout.logbook.clip_sound import NoSoundError, encoded, joined
from callout.logbook.squawks import DROPPED, Squawk, kept_seconds, pieces, squawks
from callout.logbook.store import Logbook
from callout.reports.names import clock
from callout.reports.values import SquawkPart


def of_session(logbook: Logbook, session: int) -> tuple[SquawkPart, ...]:
    """The squawks that were opened in it."""
    return tuple(_part(logbook, one) for one in squawks(logbook, session) if one.state != DROPPED)


def sound_of_session(logbook: Logbook, session: int) -> str:
    """How much of the session's sound is kept; "" if it was never recorded."""
    kept = kept_seconds(logbook, session)
    return f"{clock(kept)} kept (minutes and seconds)" if kept else ""


def _part(logbook: Logbook, one: Squawk) -> SquawkPart:
    clip, note = _clip(logbook, one)
    text = f"Unverified, written down by a machine: {one.text}" if one.kind == "unverified" else (
        f"Typed: {one.text}" if one.text else ""
    )  # fmt: skip
    return SquawkPart(
        key=one.key,
        at=clock(one.opened.now),
        called=one.called,
        where=one.where,
        state=one.state,
        grounds=one.grounds and one.state == "open",
        text=text,
        clip=clip,
        note=note,
        history=tuple(_history(one)),
    )


def _clip(logbook: Logbook, one: Squawk) -> tuple[str, str]:
    """The recording as base64 of a FLAC file, and a word about it."""
    if one.removed and not one.seconds:
        return "", "The recording was removed."
    try:
        block = joined(pieces(logbook, one.session, str(one.number)), one.until)
    except NoSoundError as problem:
        return "", str(problem)
    if block is None:
        return "", "No recording."
    made = base64.b64encode(encoded(block)).decode()
    return made, f"Recording of {block.seconds:.1f} s."


def _history(one: Squawk) -> Iterator[str]:
    for step in one.history:
        if step.what in ("kept", "noted"):
            continue
        words = (step.what, step.how, f"by {step.who}" if step.who else "")
        said = ", ".join(word for word in words if word)
        yield f"{step.wall[:16].replace('T', ' ')} UTC: {said}"
