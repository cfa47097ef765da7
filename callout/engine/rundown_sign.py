"""Whether a value after fuel-off shows a fire that goes on.

Rule of this file: questions about values; nothing is decided here.
"""

from __future__ import annotations

from decimal import Decimal

from callout.checklist.model import Aircraft
from callout.engine.state import SessionState


def sign(aircraft: Aircraft, state: SessionState, gauge: str, value: Decimal) -> str:
    """What this value shows after fuel-off: "hot", "rising", or ""."""
    fire, stopping = aircraft.residual_fire, state.duties.stopping
    if fire is None or stopping is None or gauge != fire.gauge or not value.is_finite():
        return ""
    if stopping.path not in fire.starts or state.now - stopping.off_at > fire.within:
        return ""
    late = state.now - stopping.off_at >= fire.settled_after
    if fire.above is not None and late and value > fire.above:
        return "hot"
    if fire.rises_by is None or stopping.lowest is None:
        return ""
    return "rising" if value >= stopping.lowest + fire.rises_by else ""


def shows_fire(
    aircraft: Aircraft, state: SessionState, gauge: str, value: Decimal, *, measured: bool
) -> str:
    """As `sign`, for a fire that was not called yet.

    A measured value shows it only with the one before it: a loose plug gives single ones.
    """
    stopping = state.duties.stopping
    if stopping is None or stopping.burning:
        return ""
    if measured and stopping.before is None:
        return ""
    if measured and stopping.before is not None and value.is_finite():
        value = min(stopping.before, value)
    return sign(aircraft, state, gauge, value)
