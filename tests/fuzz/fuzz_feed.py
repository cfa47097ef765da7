"""Target: a gauge feed of any bytes, in chunks as they come, becomes events or sentences.

Rule of this file: `one` takes bytes and raises only for what is wrong in callout.
"""

from __future__ import annotations

from decimal import Decimal

from callout.checklist.model import Band, Gauge
from callout.engine.events import FeedFault, Reading
from callout.gauges.feed.lines import Lines
from callout.gauges.feed.watch import FeedWatch

MOST = 9000

GAUGES = (
    Gauge("heat", "heat", "degC", (), Band(Decimal(-40), Decimal(1000))),
    Gauge("speed", "speed", "%", (), Band(Decimal(0), Decimal(115)), decimals=1),
)


def one(data: bytes) -> None:
    """The first byte tells how it comes; the second how long the chunks are."""
    paced = bool(data[:1] and data[0] & 1)
    chunk = 1 + (data[1] if len(data) > 1 else 0) * 8
    lines, watch = Lines(), FeedWatch(GAUGES, paced=paced)
    stream, now = data[2:], 0.0
    taken: list[bytes | None] = []
    for at in range(0, len(stream), chunk):
        taken += lines.take(stream[at : at + chunk])
    taken += lines.end()
    for number, line in enumerate(taken, 1):
        now += 0.1
        for event in watch.line(number, line, now):
            _told(event)
    assert watch.lines == len(taken)


def _told(event: object) -> None:
    """A reading is a number that the gauge can show; a fault is a sentence that can be said."""
    if isinstance(event, Reading):
        gauge = next(one for one in GAUGES if one.id == event.gauge)
        assert gauge.possible.at_least <= event.value <= gauge.possible.at_most, event
    elif isinstance(event, FeedFault):
        assert str(event).isprintable(), event
