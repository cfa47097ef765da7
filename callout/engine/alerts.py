"""Warnings and cautions: raised, said until they are answered, cleared.

Rule of this file: whatever must be called out whatever else is going on is
called through `raise_`, in the very step that shows it (invariant 5), and is
taken back through `clear` when its cause has ended. A warning that stands is
being said, due to be said again, or was answered; nothing else ends it but the
end of its cause, and that only when it was said to its end. One that stands is
not called anew by being raised again; one that recurs is.

That a warning starts at its beginning and repeats until its cause ends, it is
outranked or silenced: MIL-STD-411F 5.3.6 and 5.3.7. That it is acknowledged
apart from being mended, and comes again when it recurs: 14 CFR 25.1322 and
MIL-STD-1472E 5.3.6.2. All as quoted in the project's reading of them.
"""

from __future__ import annotations

from dataclasses import replace

from callout.engine.effects import Priority, ToneKind
from callout.engine.events import Heard, Key, SpeechEnded
from callout.engine.state import Alert, SessionState
from callout.engine.turn import Turn, longest_saying

REPEAT_AFTER = 3.0
"""Seconds of silence before a warning is said again: MIL-STD-1472 on verbal warnings
repeats with a pause of at most 3 s (from memory); more would be less urgent, less
would leave no room for the calls of the procedure that answers it."""

HEARD_AFTER = 1.0
"""Seconds after a warning begins before which no word can be its answer: the tone is
known after half a second (MIL-STD-1472E 5.3.4.3.3), and nobody answers before he
knows; common practice, no source."""


def raise_(
    turn: Turn,
    key: str,
    text: str,
    *,
    grave: bool,
    fact: str = "",
    about: str | None = None,
    **data: str,
) -> bool:
    """Call a warning (grave) or a caution, unless it stands already; whether it is new.

    `key` names the cause ("exhaust-temperature/NEVER"), `text` is what is said:
    while it stands each call may bring a newer text, which is what is said the
    next time. `fact`, `about` and `data` go into the log.
    """
    old = find(turn.state, key)
    if old is not None and not old.ended:
        if old.text != text:
            _swap(turn, old, replace(old, text=text))
        return False
    turn.record(fact or ("warning" if grave else "caution"), about, **data)
    _begin(turn, Alert(key, text, grave, turn.now))
    return True


def happened(turn: Turn, key: str, text: str, *, fact: str, **data: str) -> None:
    """Call a warning about something that happened to the item in hand: new each time.

    It has no cause that could end; the next answer to an item answers it, too.
    """
    turn.record(fact, **data)
    _begin(turn, Alert(key, text, grave=True, raised_at=turn.now, of_item=True))


def led(turn: Turn, key: str, text: str) -> None:
    """A call that was made in one breath with a prompt: said again if that is not answered.

    It is as `happened`, but for its first call, and its fact, which the caller wrote.
    """
    due = turn.state.answer_due or turn.now + longest_saying(text) + REPEAT_AFTER
    _put(turn, Alert(key, text, True, turn.now, of_item=True, began=turn.now, due=due))


def _put(turn: Turn, alert: Alert) -> None:
    """Let it stand, in place of an older one of the same key."""
    old = find(turn.state, alert.key)
    if old is not None:
        _swap(turn, old)
    _store(turn, (*turn.state.alerts, alert))


def _begin(turn: Turn, alert: Alert) -> None:
    _put(turn, alert)
    _call(turn, alert, again=False)
    if alert.grave:
        turn.more_time(alert.text)


def clear(turn: Turn, key: str) -> None:
    """The cause has ended: raised again, it is called again.

    A warning that was not said to its end yet is said to its end all the same;
    a caution that waits is stale and is dropped.
    """
    alert = find(turn.state, key)
    if alert is None or alert.ended:
        return
    if alert.grave and not alert.said and not alert.answered:
        _swap(turn, alert, replace(alert, ended=True))
        return
    _swap(turn, alert)
    if alert.say is not None:
        turn.forget(_about(alert), waiting_only=True)


def find(state: SessionState, key: str) -> Alert | None:
    """The alert of this key: it stands, or has ended and is still to be said."""
    return next((alert for alert in state.alerts if alert.key == key), None)


def stands(state: SessionState, key: str) -> bool:
    """Whether the cause of this key was there when last looked at."""
    alert = find(state, key)
    return alert is not None and not alert.ended


def said(turn: Turn) -> None:
    """A sentence was said to its end: if it was an alert, its pause begins."""
    event = turn.event
    assert isinstance(event, SpeechEnded)
    alert = next((one for one in turn.state.alerts if one.say == event.say), None)
    if alert is not None and alert.ended:
        _swap(turn, alert)
    elif alert is not None:
        due = turn.now + REPEAT_AFTER if _open(alert) else None
        _swap(turn, alert, replace(alert, say=None, said=alert.said + 1, due=due))
    _next_begins(turn)


def repeat_warnings(turn: Turn) -> None:
    """The pause is over, and nobody answered: said again, from the beginning."""
    for alert in turn.state.alerts:
        if alert.due is not None and alert.due <= turn.now:
            turn.record("said again", "", key=alert.key)
            _call(turn, alert, again=True)


def acknowledge(turn: Turn) -> None:
    """Roger: every warning that was heard is answered; one not heard yet is not."""
    heard = _heard(turn)
    if not heard:
        turn.record("roger too soon", "")
        turn.tone(ToneKind.NOT_UNDERSTOOD)
        return
    _answer(turn, heard)
    turn.tone(ToneKind.HEARD)


def act_on(turn: Turn) -> None:
    """The pilot called for a procedure: that answers the warnings he heard."""
    _answer(turn, _heard(turn))
    settle(turn)


def settle(turn: Turn) -> None:
    """The pilot answered an item: so he did the alerts about what was in hand."""
    if not isinstance(turn.event, Heard | Key):
        return
    of_item = tuple(alert for alert in turn.state.alerts if alert.of_item)
    _answer(turn, tuple(alert for alert in of_item if _open(alert)))
    for alert in of_item:
        clear(turn, alert.key)


def take_up(turn: Turn) -> None:
    """After a gap: what was not answered is said again; of the rest nobody knows any more.

    A cause that is still there is raised by the next look at it, and called.
    """
    left = [a for a in turn.state.alerts if not a.answered and (a.grave or not a.said)]
    _store(turn, tuple(replace(alert, say=None, due=None) for alert in left))
    for alert in turn.state.alerts:
        turn.record("said again", "", key=alert.key)
        _call(turn, alert, again=bool(alert.said))


def leave(turn: Turn) -> None:
    """The session is over: what nobody answered is written down."""
    left = [alert.key for alert in turn.state.alerts if _open(alert)]
    if left:
        turn.record("warnings not answered", "", keys="; ".join(left))
    _store(turn, ())


def _call(turn: Turn, alert: Alert, *, again: bool) -> None:
    """Say it: tone, then words. The first time it cuts what is less; later it waits its turn."""
    queued = any(one.grave and one.say is not None for one in turn.state.alerts)
    tone = ToneKind.WARNING if alert.grave else ToneKind.CAUTION
    priority = Priority.WARNING if alert.grave else Priority.CAUTION
    number = turn.say(alert.text, priority, about=_about(alert), tone=tone, patient=again)
    due = turn.now + longest_saying(alert.text) + REPEAT_AFTER
    began = alert.began if alert.say is not None else (None if queued else turn.now)
    _swap(turn, alert, replace(alert, say=number, began=began, due=due))


def _open(alert: Alert) -> bool:
    """Whether it is a warning that nobody answered."""
    return alert.grave and not alert.answered


def _heard(turn: Turn) -> tuple[Alert, ...]:
    """Unanswered warnings that the words, or the key, of this event can be an answer to."""
    event = turn.event
    at = turn.now
    if isinstance(event, Heard | Key):
        at = event.began if isinstance(event, Heard) else event.at
    return tuple(
        alert
        for alert in turn.state.alerts
        if _open(alert)
        and (alert.said or (alert.began is not None and at - alert.began >= HEARD_AFTER))
    )


def _answer(turn: Turn, alerts: tuple[Alert, ...]) -> None:
    for alert in alerts:
        after = f"{turn.now - alert.raised_at:.1f}"
        turn.record("warning answered", "", key=alert.key, after=after, by=_by(turn))
        done = replace(alert, answered=True, say=None, due=None)
        _swap(turn, alert, *(() if alert.ended or alert.of_item else (done,)))
        turn.forget(_about(alert))
    _next_begins(turn)


def _by(turn: Turn) -> str:
    return getattr(turn.event, "source", "") or type(turn.event).__name__


def _next_begins(turn: Turn) -> None:
    """Of the alerts that wait to be said, the first one sounds from now on."""
    waiting = [one for one in turn.state.alerts if one.grave and one.say is not None]
    if waiting and all(one.began is None for one in waiting):
        _swap(turn, waiting[0], replace(waiting[0], began=turn.now))


def _about(alert: Alert) -> str:
    return f"alert {alert.key}"


def _swap(turn: Turn, old: Alert, *new: Alert) -> None:
    at = turn.state.alerts.index(old)
    _store(turn, (*turn.state.alerts[:at], *new, *turn.state.alerts[at + 1 :]))


def _store(turn: Turn, alerts: tuple[Alert, ...]) -> None:
    """The one place where they are written: with it, whether an answer is listened for."""
    turn.set(alerts=alerts)
    wanted = any(_open(alert) for alert in alerts)
    if wanted is not turn.state.warned:
        turn.set(warned=wanted)
