"""Keys of a pedal: real input_event records through a real pipe, read by evdev itself.

No input device can be made here (there is no /dev/uinput): what is not tested is
finding a device by its name and taking it for callout alone. The record is
`struct input_event` of linux/input.h: two longs, two 16-bit numbers, a 32-bit one.
"""

from __future__ import annotations

import os
import queue
import struct
import sys
import time
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest

from callout.engine.events import Event, Key, KeyMeaning, Lost, Restored
from callout.running.clock import RecordingClock
from callout.running.device_keys import DeviceKeys, InputDevice, codes_of, opening
from callout.running.key_map import HELD, Presses, meanings_of
from callout.running.problems import CannotRunError

evdev = pytest.importorskip("evdev", reason="evdev is for Linux, and has a wheel for x86-64 only")

EV_SYN, EV_KEY, EV_MSC = 0x00, 0x01, 0x04
KEY_B, KEY_F1, KEY_PAGEDOWN, BTN_LEFT = 48, 59, 109, 0x110
"""From linux/input-event-codes.h."""

MEANINGS = meanings_of(["f1=affirm", "pagedown=say-again", "b=hold", "btn_left=roger"])


def record(kind: int, code: int, value: int) -> bytes:
    return struct.pack("@llHHi", 17, 250, kind, code, value)


class Pedal(evdev.eventio.EventIO):
    """A pipe in place of /dev/input/event7; everything else is evdev."""

    name = "Invented Pedal"

    def __init__(self, path: Path) -> None:
        self.fd = os.open(path, os.O_RDONLY | os.O_NONBLOCK)

    def close(self) -> None:
        os.close(self.fd)


class Foot:
    """What presses it."""

    def __init__(self, folder: Path) -> None:
        self.path = folder / "event7"
        os.mkfifo(self.path)
        self.pedal = Pedal(self.path)
        self.out = os.open(self.path, os.O_WRONLY)

    def send(self, *records: tuple[int, int, int]) -> None:
        os.write(self.out, b"".join(record(*one) for one in records))

    def press(self, code: int) -> None:
        """Down, held, up, as the kernel reports it."""
        self.send((EV_MSC, 4, 458756), (EV_KEY, code, 1), (EV_SYN, 0, 0))
        self.send((EV_KEY, code, 2), (EV_SYN, 0, 0), (EV_KEY, code, 0), (EV_SYN, 0, 0))


class Reading:
    """A pedal that is read on its own thread into an inbox."""

    def __init__(self, folder: Path) -> None:
        self.foot = Foot(folder)
        self.clock = RecordingClock()
        self.clock.move(40.0)
        self.inbox: queue.SimpleQueue[Event] = queue.SimpleQueue()
        self.again: list[list[InputDevice]] = []
        self.keys = DeviceKeys(
            [self.foot.pedal],
            self.reopen,
            codes_of(MEANINGS),
            Presses(MEANINGS, self.clock, self.inbox.put),
            self.inbox.put,
        )
        self.keys.start()

    def reopen(self) -> list[InputDevice]:
        if not self.again:
            raise CannotRunError("No input device is called that.")
        return self.again.pop()

    def next(self) -> Event:
        return self.inbox.get(timeout=60)

    def close(self) -> None:
        self.keys.close()
        assert not self.keys.is_alive()


@pytest.fixture
def reading(tmp_path: Path) -> Iterator[Reading]:
    with closing(Reading(tmp_path)) as one:
        yield one


@pytest.mark.parametrize(
    ("code", "means", "name"),
    [
        (KEY_F1, KeyMeaning.AFFIRM, "f1"),
        (KEY_PAGEDOWN, KeyMeaning.SAY_AGAIN, "pagedown"),
        (KEY_B, KeyMeaning.HOLD, "b"),
        (BTN_LEFT, KeyMeaning.ROGER, "btn_left"),
    ],
)
def test_a_press_is_one_event_with_its_meaning_its_time_and_its_source(
    code: int, means: KeyMeaning, name: str, reading: Reading
):
    reading.foot.press(code)
    assert Key(means, 40.0, f"{name} of Invented Pedal") == reading.next()
    assert reading.inbox.empty()


def test_what_is_no_press_and_what_means_nothing_is_passed_over(reading: Reading):
    """Let go, held, another key, and a key's number in a record that is none of a key."""
    reading.foot.send((EV_KEY, KEY_F1, 0), (EV_KEY, KEY_F1, 2), (EV_KEY, 30, 1))
    reading.foot.send((EV_MSC, KEY_F1, 1))
    reading.foot.press(KEY_PAGEDOWN)
    assert KeyMeaning.SAY_AGAIN is getattr(reading.next(), "means", None)
    assert reading.inbox.empty()


def test_a_contact_that_bounces_is_one_press(reading: Reading):
    for _ in range(4):
        reading.foot.press(KEY_F1)
    reading.foot.press(KEY_B)
    means = [getattr(reading.next(), "means", None) for _ in range(2)]
    assert [KeyMeaning.AFFIRM, KeyMeaning.HOLD] == means
    reading.clock.move(40.0 + HELD)
    reading.foot.press(KEY_F1)
    assert Key(KeyMeaning.AFFIRM, 40.0 + HELD, "f1 of Invented Pedal") == reading.next()


def test_a_pedal_that_is_pulled_out_is_told_and_taken_again(reading: Reading, tmp_path: Path):
    """Reading a closed file descriptor is an OSError, as from a device that is gone (ENODEV)."""
    os.close(reading.foot.pedal.fd)
    lost = reading.next()
    assert isinstance(lost, Lost)
    assert "pedal" == lost.part

    second = tmp_path / "second"
    second.mkdir()
    foot = Foot(second)
    reading.again.append([foot.pedal])
    assert Restored("pedal") == reading.next()
    foot.press(KEY_F1)
    assert KeyMeaning.AFFIRM is getattr(reading.next(), "means", None)


def test_half_a_record_is_no_press(reading: Reading):
    os.write(reading.foot.out, record(EV_KEY, KEY_F1, 1)[:10])
    time.sleep(0.3)
    assert not [event for event in iter_now(reading.inbox) if isinstance(event, Key)], (
        "a press was made up"
    )


def iter_now(inbox: queue.SimpleQueue[Event]) -> Iterator[Event]:
    while not inbox.empty():
        yield inbox.get()


def test_a_key_that_the_kernel_does_not_know_is_a_sentence():
    with pytest.raises(CannotRunError, match="the system knows no such key"):
        codes_of(meanings_of(["pedal=affirm"]))


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="evdev is for Linux")
def test_a_device_that_is_not_here_is_a_sentence():
    """On a machine with input devices it names them, on one without it says what to do."""
    with pytest.raises(CannotRunError, match=r"No input device (is called|can be read)"):
        opening("no such pedal", MEANINGS)()
