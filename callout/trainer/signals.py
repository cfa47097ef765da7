"""Hand signals between helper and pilot: what they mean, and how the arms go.

Rule of this file: data only. The descriptions are our own words for the signals
that a signalman gives to an aircraft: ICAO Annex 2, Appendix 1, section 5 and FAA
AIM 4-3-26. Neither text was at hand. Four signals were compared with what states
reprint of the annex (a table of the United Kingdom's Rules of the Air, 2007,
Schedule 8, and a ministry's book for marshallers); the rest is from memory. An
operator's own signals may differ: agree on them before the engine is started.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

ICAO = "ICAO Annex 2, Appendix 1, from memory"
BOTH = "ICAO Annex 2, Appendix 1, read as reprinted by states; FAA AIM 4-3-26, from memory"


@dataclass(frozen=True, slots=True)
class Arm:
    """One arm: where upper arm and forearm point, in degrees.

    0 is straight down, 90 out to its own side, 180 straight up; beyond 180 it leans
    across the body. `to_upper` and `to_lower` are where it moves to, if it moves.
    """

    upper: float
    lower: float
    to_upper: float | None = None
    to_lower: float | None = None
    hand: str = ""


@dataclass(frozen=True, slots=True)
class Signal:
    """One signal, seen from in front: the signalman's right arm is on the left."""

    means: str
    shown: str
    right: Arm
    left: Arm
    source: str
    circles: bool = False
    across: bool = False


SIGNALS: Mapping[str, Signal] = MappingProxyType(
    {
        "start-engine": Signal(
            "start the engine",
            "The right hand circles at the height of the head; "
            "the left arm, raised, points at the engine.",
            Arm(100, 170), Arm(135, 135), BOTH, circles=True,
        ),
        "stop": Signal(
            "stop",
            "Both arms are stretched out to the sides and go up slowly, "
            "until they cross above the head.",
            Arm(90, 90, 186, 212), Arm(90, 90, 186, 212), BOTH,
        ),
        "emergency-stop": Signal(
            "stop at once",
            "Both arms are thrown up at once, and crossed above the head.",
            Arm(186, 212), Arm(186, 212), BOTH,
        ),
        "cut-engine": Signal(
            "cut the engine",
            "One hand, at the height of the shoulder, is drawn across the throat.",
            Arm(50, 248), Arm(8, 4), BOTH, across=True,
        ),
        "fire": Signal(
            "fire",
            "The right hand fans up and down between shoulder and knee, "
            "while the left arm points at the fire.",
            Arm(85, 85, 30, 30), Arm(70, 70), ICAO,
        ),
        "connect-ground-power": Signal(
            "connect ground power",
            "Above the head the fingers of the right hand go up to the open left palm "
            "and touch it: they make a letter tee.",
            Arm(150, 190, 158, 205), Arm(150, 215, None, None, "flat"), ICAO,
        ),
        "disconnect-ground-power": Signal(
            "disconnect ground power",
            "Above the head the fingers of the right hand, which touch the open left palm, "
            "are drawn away from it.",
            Arm(158, 205, 135, 150), Arm(150, 215, None, None, "flat"), ICAO,
        ),
        "all-clear": Signal(
            "all clear",
            "The right hand is raised with the thumb up; the left arm hangs down.",
            Arm(70, 165, None, None, "thumb up"), Arm(8, 4), ICAO,
        ),
        "negative": Signal(
            "negative",
            "The right arm is stretched out to the side with the thumb down; "
            "the left arm hangs down.",
            Arm(90, 90, None, None, "thumb down"), Arm(8, 4), ICAO,
        ),
        "hold": Signal(
            "hold position",
            "Both arms are stretched down and away from the body, halfway to the sides, "
            "and kept there.",
            Arm(45, 45), Arm(45, 45), ICAO,
        ),
    }
)  # fmt: skip
"""Name -> signal."""
