"""How callout talks and waits for an aircraft, and where its limits come from.

Rule of this file: as model.py, of which it is a part: frozen dataclasses only,
no reading, no checking. Times are seconds.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum


class ResumePolicy(Enum):
    """Where `resume` takes the pilot after a hold (three published policies)."""

    REPEAT_LAST = "repeat last item"
    RESTART_SECTION = "restart section"
    RESTART_LIST = "restart list"


@dataclass(frozen=True, slots=True)
class Settings:
    """How callout talks and waits for this aircraft.

    Fields:
        decimal_word: "point" (FAA AIM 4-2-2) or "decimal" (ICAO Annex 10 II 5.2.1.4.3)
        resume: policy after a hold
        answer_time: seconds without an answer before the item is said again
        look_time: default look time of ask and read items (s)
        certainty, killer_certainty: least recogniser confidence, 0 .. 1
        grounding_closes: lists that a grounded aircraft's do not open; None for those of a start
        record_session: the sound of every whole session is kept
        reasons: what may be given as the reason of an override
    """

    decimal_word: str = "point"
    resume: ResumePolicy = ResumePolicy.REPEAT_LAST
    answer_time: float = 12.0
    look_time: float = 0.0
    certainty: float = 0.5
    killer_certainty: float = 0.7
    grounding_closes: tuple[str, ...] | None = None
    record_session: bool = False
    reasons: tuple[str, ...] = ("not fitted", "not working", "not required today", "already done")


@dataclass(frozen=True, slots=True)
class Source:
    """Where the limits come from: handbook, its issue and its date, as written."""

    handbook: str
    issue: str = ""
    date: str = ""
