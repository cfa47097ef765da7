"""Hand signals as small drawings of our own, in SVG.

Rule of this file: a figure of lines seen from in front, so that the signalman's right
arm is on the left; movement is an arrow. Words and angles come from signals.py.
"""

from __future__ import annotations

from math import cos, radians, sin

from callout.trainer.signals import Arm, Signal

WIDTH, HEIGHT = 180.0, 190.0
SHOULDER_Y, SHOULDER_X = 78.0, 17.0
UPPER, LOWER = 28.0, 38.0

_MIDDLE = WIDTH / 2

_HEAD = (
    f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH:g} {HEIGHT:g}" width="{WIDTH:g}" '
    f'height="{HEIGHT:g}" role="img"><title>{{title}}</title>'
    '<defs><marker id="tip" viewBox="0 0 8 8" refX="6" refY="4" markerWidth="6" markerHeight="6" '
    'orient="auto-start-reverse"><path d="M0 0 L8 4 L0 8 z" fill="#1f4e79"/></marker></defs>'
    '<rect width="100%" height="100%" fill="white"/>'
    '<g fill="none" stroke="#202020" stroke-width="5" stroke-linecap="round" '
    'stroke-linejoin="round">'
)

_BODY = (
    f'<circle cx="{_MIDDLE:g}" cy="56" r="12" fill="white"/>'
    f'<path d="M{_MIDDLE - SHOULDER_X:g} {SHOULDER_Y:g} H{_MIDDLE + SHOULDER_X:g} '
    f'L{_MIDDLE + 11:g} 126 H{_MIDDLE - 11:g} Z"/>'
    f'<path d="M{_MIDDLE - 8:g} 127 L{_MIDDLE - 12:g} 180 M{_MIDDLE + 8:g} 127 '
    f'L{_MIDDLE + 12:g} 180"/>'
)

Point = tuple[float, float]


def figure(signal: Signal) -> str:
    """One signal as SVG."""
    parts = [_HEAD.format(title=signal.means), _BODY]
    for arm, side in ((signal.right, -1), (signal.left, 1)):
        elbow, hand = _points(arm.upper, arm.lower, side)
        shoulder = (_MIDDLE + side * SHOULDER_X, SHOULDER_Y)
        parts.append(_path(shoulder, elbow, hand))
        parts.append(_hand(arm, hand, side))
        if arm.to_upper is not None and arm.to_lower is not None:
            parts.append(_movement(arm, side, both_ways=signal.means == "fire"))
        if signal.circles and side < 0:
            parts.append(_circle(hand))
        if signal.across and side < 0:
            parts.append(_across())
    parts.append("</g></svg>")
    return "".join(parts)


def _points(upper: float, lower: float, side: int) -> tuple[Point, Point]:
    """Elbow and hand; 0 degrees is down, 90 out to the side, 180 up."""
    shoulder = (_MIDDLE + side * SHOULDER_X, SHOULDER_Y)
    elbow = _from(shoulder, upper, UPPER, side)
    return elbow, _from(elbow, lower, LOWER, side)


def _from(point: Point, angle: float, length: float, side: int) -> Point:
    return (
        point[0] + side * length * sin(radians(angle)),
        point[1] + length * cos(radians(angle)),
    )


def _path(*points: Point, style: str = "") -> str:
    steps = " L".join(f"{x:.1f} {y:.1f}" for x, y in points)
    return f'<path d="M{steps}"{style}/>'


def _hand(arm: Arm, hand: Point, side: int) -> str:
    x, y = hand
    if arm.hand == "thumb up":
        return _path((x, y), (x, y - 12)) + f'<circle cx="{x:.1f}" cy="{y:.1f}" r="4"/>'
    if arm.hand == "thumb down":
        return f'<circle cx="{x:.1f}" cy="{y:.1f}" r="4"/>' + _path((x, y), (x, y + 13))
    if arm.hand == "flat":
        return _path((x - side * 9, y), (x + side * 9, y))
    return f'<circle cx="{x:.1f}" cy="{y:.1f}" r="3" fill="#202020"/>'


def _movement(arm: Arm, side: int, *, both_ways: bool) -> str:
    """The way of the hand, as a bent arrow a little outside of it."""
    assert arm.to_upper is not None
    assert arm.to_lower is not None
    steps = 8
    way = []
    for at in range(steps + 1):
        share = at / steps
        upper = arm.upper + (arm.to_upper - arm.upper) * share
        lower = arm.lower + (arm.to_lower - arm.lower) * share
        way.append(_points(upper, lower, side)[1])
    begin = ' marker-start="url(#tip)"' if both_ways else ""
    style = f' stroke="#1f4e79" stroke-width="2.5" stroke-dasharray="1 5"{begin}'
    return _path(*way, style=f'{style} marker-end="url(#tip)"')


def _across() -> str:
    """From one side of the throat to the other."""
    style = ' stroke="#1f4e79" stroke-width="2.5" stroke-dasharray="1 5"'
    ends = ((_MIDDLE - 20, SHOULDER_Y - 6), (_MIDDLE + 24, SHOULDER_Y - 6))
    return _path(*ends, style=f'{style} marker-end="url(#tip)"')


def _circle(hand: Point) -> str:
    x, y = hand
    return (
        f'<path d="M{x - 11:.1f} {y:.1f} a11 7 0 1 1 9 7" stroke="#1f4e79" stroke-width="2.5" '
        'marker-end="url(#tip)"/>'
    )
