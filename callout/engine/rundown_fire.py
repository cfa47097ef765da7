"""A fire in the engine after fuel-off: the warning, and its procedure at once.

Rule of this file: the warning is called in the very step of the value that shows
it (the second of two, where they are measured); an abort or emergency procedure
that runs already is not broken into.
"""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

from callout.checklist.model import ListKind
from callout.engine import alerts, closing, flow, rundown, rundown_sign, wording_duties
from callout.engine.events import Reading
from callout.engine.turn import Turn


def residual_fire(turn: Turn) -> None:
    """A reading shows it."""
    event = turn.event
    assert isinstance(event, Reading)
    _call(turn, event.value)


def called_out(turn: Turn, gauge: str, value: Decimal) -> bool:
    """The pilot calls a value: whether it shows a fire, and the procedure was opened."""
    if not rundown_sign.shows_fire(turn.aircraft, turn.state, gauge, value, measured=False):
        return False
    turn.hush()
    return _call(turn, value)


def _call(turn: Turn, value: Decimal) -> bool:
    """Warn; whether its procedure was opened."""
    fire, stopping = turn.aircraft.residual_fire, turn.state.duties.stopping
    assert fire is not None
    assert stopping is not None
    rising = rundown_sign.sign(turn.aircraft, turn.state, fire.gauge, value) == "rising"
    text = wording_duties.residual_fire(turn.aircraft, fire, value, rising=rising)
    after = f"{turn.now - stopping.off_at:.1f}"
    data = {"gauge": fire.gauge, "value": str(value), "after": after}
    turn.set(duties=replace(turn.state.duties, stopping=replace(stopping, burning=True)))
    alerts.raise_(turn, rundown.ALERT, text, grave=True, fact="residual fire", about="", **data)
    if turn.state.run is not None:
        if turn.checklist.kind is not ListKind.NORMAL:
            return False
        closing.leave_list(turn, "aborted")
    turn.set(plan=(), last=None, back_to=None, doubt=None, overriding=None, wanted="")
    flow.open_list(turn, fire.opens)
    return True
