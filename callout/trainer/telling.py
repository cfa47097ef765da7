"""What a debrief and a training record say, as the values that page and paper print.

Rule of this file: words and numbers as text; nothing is scored or scheduled here.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any

from callout.checklist.model import Aircraft
from callout.trainer.figures import figure
from callout.trainer.model import Drill
from callout.trainer.plotting import NoPictureError, drill_picture, progress_picture
from callout.trainer.schedule import Due
from callout.trainer.signals import SIGNALS
from callout.trainer.store import CutShort, Entry

CARE = (
    "The engine is an invented simulation. The handbook of your own aircraft rules.",
    "Practice certifies nothing. It never says that it is safe to start, take off or fly.",
)

NO_CERTIFICATE = (
    "This record says what was practised, when and how it went. It certifies nothing: "
    "no knowledge, no skill, no right to do anything at an aircraft."
)


def debrief_values(entry: Entry, drill: Drill | None, aircraft: Aircraft) -> dict[str, Any]:
    """Everything that a written debrief says."""
    result = entry.result
    picture, note = _drawn(lambda: drill_picture(result, aircraft))
    return {
        "title": f"Debrief: {entry.title}",
        "notice": aircraft.notice,
        "cautions": [*CARE, *(drill.cautions if drill is not None else ())],
        "summary": _summary(entry),
        "mattered": result["mattered"],
        "word": "What mattered most" if entry.percent < 100 else "What to keep",
        "debrief": drill.debrief if drill is not None else "",
        "calls": [_call(one) for one in result["calls"]],
        "false": [
            {"at": _clock(one["at"]), "words": one["words"], "kind": one["kind"],
             "because": one["because"]}
            for one in result["false_calls"]
        ],
        "questions": [_question(one) for one in result["replies"]],
        "picture": picture,
        "note": note,
        "timeline": [
            {"at": _clock(one["at"]), "who": one["who"], "text": one["text"]}
            for one in result["timeline"]
        ],
        "signals": _signals(drill),
    }  # fmt: skip


def _summary(entry: Entry) -> list[dict[str, str]]:
    result = entry.result
    order = "yes" if result["in_order"] else "no: words came before what they answer"
    rows = [
        ("Who", entry.who),
        ("As", entry.roles),
        ("Aircraft file", f"{entry.aircraft}, revision {entry.revision}"),
        ("When", _date(entry.at)),
        ("Score", f"{entry.percent} % ({result['points']} of {result['of']} points)"),
        ("Calls in order", order),
        ("Words told first", "yes" if entry.coached else "no"),
        ("Length", f"{result['seconds']:.0f} s"),
    ]
    return [{"name": name, "text": text} for name, text in rows]


def _call(one: Mapping[str, Any]) -> dict[str, str]:
    reaction = "" if one["reaction"] is None else f"{one['reaction']:.1f} s"
    source = f" ({one['source']})" if one["source"] else " (the drill's own)"
    return {
        "at": "" if one["at"] is None else _clock(one["at"]),
        "who": one["who"],
        "wanted": one["wanted"] + (" *" if one["critical"] else ""),
        "outcome": one["outcome"],
        "reaction": reaction,
        "within": f"{one['within']:g} s{source}",
        "points": f"{one['points']}/{one['of']}",
        "why": one["why"],
    }


def _question(one: Mapping[str, Any]) -> dict[str, str]:
    good = one["said"] == one["right"] != ""
    return {
        "asked": one["asked"],
        "said": one["said"] or "no answer",
        "right": one["right"],
        "outcome": "right" if good else "wrong",
    }


def _signals(drill: Drill | None) -> list[dict[str, str]]:
    names = drill.signals if drill is not None else ()
    found = [SIGNALS[name] for name in names]
    return [
        {"means": one.means, "shown": one.shown, "source": one.source, "svg": figure(one)}
        for one in found
    ]


def record_values(
    who: str, aircraft: Aircraft, entries: Sequence[Entry], found: Sequence[Due], now: datetime,
    cut: Sequence[CutShort] = (),
) -> dict[str, Any]:  # fmt: skip
    """Everything that a training record says."""
    picture, note = _drawn(lambda: progress_picture(entries)) if entries else ("", "")
    return {
        "title": f"Training record of {who}",
        "notice": aircraft.notice,
        "cautions": [NO_CERTIFICATE, CARE[0]],
        "summary": [
            {"name": "Who", "text": who},
            {"name": "Aircraft file", "text": f"{aircraft.name}, revision {aircraft.revision}"},
            {"name": "Printed", "text": _date(now)},
            {"name": "Practices", "text": str(len(entries))},
        ],
        "entries": [
            {
                "date": _date(one.at),
                "title": one.title,
                "roles": one.roles,
                "score": f"{one.percent} %",
                "remark": _remark(one),
            }
            for one in entries
        ],
        "cut": [
            {
                "date": _date(one.at),
                "title": one.title,
                "roles": one.roles,
                "came": f"{one.calls} of {one.of} calls, {one.in_time} in time",
                "how": "ended" if one.ended else "broke off",
            }
            for one in cut
        ],
        "due": [
            {
                "title": one.title,
                "roles": one.roles,
                "times": str(one.times),
                "last": "" if one.last is None else f"{one.last} %",
                "due": "not practised yet" if one.due is None else _date(one.due),
            }
            for one in found
        ],
        "picture": picture,
        "note": note,
    }


def _remark(entry: Entry) -> str:
    remarks = []
    if entry.coached:
        remarks.append("words told first")
    if entry.critical_missed:
        remarks.append("a critical call was lost")
    return ", ".join(remarks)


def _drawn(draw: Any) -> tuple[str, str]:  # noqa: ANN401 - a picture to be drawn
    try:
        return draw(), ""
    except NoPictureError as error:
        return "", str(error)


def _clock(seconds: float) -> str:
    return f"{int(seconds) // 60}:{seconds % 60:04.1f}"


def _date(at: datetime) -> str:
    return at.astimezone().strftime("%Y-%m-%d %H:%M")
