"""The content of a list as a short digest, so that a changed list is known as one.

Rule of this file: the same content gives the same digest, in later versions of
this program, too: what a file leaves out is left out here, and so a key that the
language gets later changes nothing in files that do not use it.
"""

from __future__ import annotations

import hashlib
import json
from dataclasses import MISSING, fields, is_dataclass
from decimal import Decimal
from enum import Enum

from callout.checklist.model import Aircraft, Await, CheckList, ReadValue

LENGTH = 16
"""Hexadecimal digits of a digest: 64 bits are enough to tell a change, nobody forges lists."""


def digests(aircraft: Aircraft) -> tuple[tuple[str, str], ...]:
    """(list, digest of its content) in the order of the lists."""
    return tuple((one.id, digest(aircraft, one)) for one in aircraft.lists)


def digest(aircraft: Aircraft, checklist: CheckList) -> str:
    """The content of a list, and of the gauges whose values it asks for."""
    read = {
        task.gauge if isinstance(task, ReadValue) else task.condition.gauge
        for task in (item.task for item in checklist.items())
        if isinstance(task, ReadValue | Await)
    }
    gauges = [plain(gauge) for gauge in aircraft.gauges if gauge.id in read]
    text = json.dumps([plain(checklist), gauges], sort_keys=True, separators=(",", ":"))
    return hashlib.sha256(text.encode("utf-8")).hexdigest()[:LENGTH]


def counting(aircraft: Aircraft) -> str:
    """What is counted and due, and by which rules."""
    held = [plain(aircraft.counters), plain(aircraft.dues)]
    text = json.dumps(held, sort_keys=True, separators=(",", ":"), default=str)
    return hashlib.sha256(text.encode("utf-8")).hexdigest()[:LENGTH]


def plain(thing: object) -> object:
    """A value as JSON has it; fields that are as if nothing was written are left out."""
    if isinstance(thing, Enum):
        return str(thing.value)
    if isinstance(thing, Decimal):
        return str(thing.normalize())
    if is_dataclass(thing):
        own = {
            one.name: plain(getattr(thing, one.name))
            for one in fields(thing)
            if not (one.default is not MISSING and getattr(thing, one.name) == one.default)
        }
        return {"is": type(thing).__name__, **own}
    if isinstance(thing, tuple):
        return [plain(one) for one in thing]
    return thing
