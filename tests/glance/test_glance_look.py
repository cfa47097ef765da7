"""How the page looks: read by axe-core, at three sizes, by day and by night.

Contrast, target size and what else axe-core knows: WCAG 2.2 A and AA (its own rules).
"""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from glance_rig import browser
from glance_screen import answer, item_of, let_in
from glance_served import Served, served
from playwright.sync_api import Page, expect

from callout.checklist.model import Who
from callout.engine.events import Reading

SIZES = ((390, 844), (1024, 768), (2560, 1440))
SHOWN = {"asked": "#answers button", "busy": "#alerts .warning", "value": "#pad button"}
"""What stands on the page when the moment has come."""

PICTURES = Path(__file__).parents[2] / "out" / "glance"

pytestmark = pytest.mark.timeout(600)  # of a minute here; a busy machine takes long


@pytest.fixture(scope="module")
def chromium():
    with browser() as found:
        yield found


def busy(found: Served) -> None:
    """A moment with all there can be: a warning, a caution, gauges with limits."""
    readings = {"gas-generator-speed": "105", "battery-voltage": "24.1", "oil-pressure": "3.4",
                "exhaust-temperature": "412"}  # fmt: skip
    for gauge, value in readings.items():
        found.handle(Reading(gauge, Decimal(value), found.now()))


def value_item(found: Served) -> None:
    """On the way to an item that is answered by a number."""
    for words in ("override", "already done", "confirm override"):
        found.touch(words)
    while found.item() != "battery-voltage":
        found.touch(answer(item_of("before-start", found.in_hand().call)))


@pytest.mark.parametrize("theme", ["day", "night"])
@pytest.mark.parametrize("moment", ["asked", "busy", "value"])
def test_what_is_on_the_page_can_be_read_and_touched(chromium, tmp_path, theme, moment):
    """axe-core finds nothing at any size; nothing is wider than the screen; targets fit a glove.

    Pictures go to out/glance, for people to look at. A target of 24 by 24 px is WCAG 2.5.8;
    one of 56 px (about 9 mm on a phone) is for gloves (common practice, no source).
    """
    PICTURES.mkdir(parents=True, exist_ok=True)
    lists = ("before-start",) if moment == "value" else ("walk-round",)
    with served(tmp_path, lists=lists) as found:
        screen = let_in(chromium, found)
        (busy if moment == "busy" else value_item if moment == "value" else lambda f: None)(found)
        expect(screen.locator(SHOWN[moment]).first).to_be_visible()
        screen.evaluate(f"document.documentElement.dataset.theme = '{theme}'")
        for width, height in SIZES:
            screen.set_viewport_size({"width": width, "height": height})
            screen.evaluate("document.getElementById('more').open = false; scrollTo(0, 0)")
            screen.wait_for_timeout(150)
            screen.screenshot(path=PICTURES / f"{moment}-{width}x{height}-{theme}.png")
            screen.evaluate("document.getElementById('more').open = true")
            assert width == screen.evaluate("document.documentElement.scrollWidth")
            small = screen.evaluate(
                "[...document.querySelectorAll('button, input, summary')].filter("
                "b => b.offsetParent && (b.offsetHeight < 56 || b.offsetWidth < 56))"
                ".map(b => b.textContent)"
            )
            assert [] == small
            if moment == "busy" or width == SIZES[0][0]:
                assert [] == violations(screen)


@pytest.mark.parametrize("theme", ["day", "night"])
def test_pages_beside_the_list_can_be_read(chromium, tmp_path, theme):
    with served(tmp_path) as found:
        screen = let_in(chromium, found, Who.HELPER)
        screen.evaluate(f"document.documentElement.dataset.theme = '{theme}'")
        assert [] == violations(screen)
        screen.click("#cover")
        assert [] == violations(screen)
        screen.goto(f"{found.origin}/pair#nothing")
        expect(screen.locator("#why")).to_contain_text("not good")
        assert [] == violations(screen)


def violations(screen: Page) -> list[str]:
    tags = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
    found = Axe().run(screen, options={"runOnly": {"type": "tag", "values": tags}})
    assert len(found.response["passes"]) > 5
    return [
        f"{one['id']}: {node['html']}: {node['failureSummary']}"
        for one in found.response["violations"]
        for node in one["nodes"]
    ]
