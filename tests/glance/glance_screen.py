"""What a test does at a page: be let in, press, type, read; and the right answers of the example.

Rule of this file: as a person would, by what stands on the page.
"""

from __future__ import annotations

from functools import cache

from glance_rig import page
from glance_served import REEDLARK, Served
from playwright.sync_api import Page, expect

from callout.checklist.load import load_all
from callout.checklist.model import Aircraft, Ask, Choose, Item, ReadValue, Who

HELD = 900  # ms


def let_in(chromium, found: Served, role: Who = Who.PILOT, **context) -> Page:
    context = {"viewport": {"width": 390, "height": 844}, **context}
    return page(chromium, f"{found.origin}/pair#{found.pairing.invite(role)}", **context)


def button(screen: Page, words: str):
    return screen.locator(f'button[data-say="{words}"]').first


def press(screen: Page, words: str) -> None:
    """As a finger does: a held button is held."""
    one = button(screen, words)
    held = "held" in (one.get_attribute("class") or "")
    one.click(delay=HELD if held else 0)


def enter(screen: Page, number: str) -> None:
    for figure in number:
        screen.locator("#pad button", has_text=figure).click()
    screen.click("#say-number")


def words(screen: Page, place: str) -> str:
    return screen.locator(f"#{place}").text_content() or ""


def named(screen: Page, item: str):
    return expect(screen.locator("#item")).to_have_text(item)


@cache
def reedlark() -> Aircraft:
    return load_all(REEDLARK).aircraft


def item_of(list_id: str, call: str) -> Item:
    items = reedlark().list(list_id).items()
    return next(item for item in items if item.call == call)


def answer(item: Item) -> str:
    task = item.task
    if isinstance(task, Ask):
        return task.answers[0]
    if isinstance(task, Choose):
        return task.options[0].answers[0]
    assert isinstance(task, ReadValue)
    low, high = task.accept.at_least, task.accept.at_most
    return f"{low if low is not None else high}"
