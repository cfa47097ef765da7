"""The page in a real browser: by touch, by keyboard, on two screens."""

from __future__ import annotations

import json
import re
from dataclasses import replace

import pytest
from glance_rig import browser, page, running
from glance_screen import (
    HELD,
    answer,
    button,
    enter,
    item_of,
    let_in,
    named,
    press,
    reedlark,
    words,
)
from glance_served import served, view
from playwright.sync_api import expect

from callout.checklist.model import ReadValue, Who

pytestmark = pytest.mark.timeout(600)  # of a minute here; a busy machine takes long

PRESSED = 1300
"""Milliseconds after which a second press of the same button is one of its own."""

SAYS_MORE = "said => document.getElementById('said').textContent !== said"

BUSY = """() => {
  window.times = [];
  for (const kind of ["pointerdown", "pointerup"])
    addEventListener(kind, (event) => window.times.push(event.timeStamp), true);
  addEventListener("pointerdown", () => setTimeout(() => {
    const began = performance.now();
    while (performance.now() - began < 1500);
  }));
}"""
"""The page does nothing else for 1.5 s from the moment in which a finger is put down."""


@pytest.fixture(scope="module")
def chromium():
    with browser() as found:
        yield found


def test_a_whole_list_by_touch_on_a_phone(chromium):
    """The program as it is started; the walk-round is typed, before start is touched."""
    with running("walk-round", "before-start", "--ear", "keys", "--speak", "none") as run:
        screen = page(chromium, run.code(), viewport={"width": 390, "height": 844}, has_touch=True)
        while (call := words(screen, "item")) and words(screen, "list") == "walk round":
            # A list that nobody answered for half a minute, on a busy machine, stands by.
            stands = "standing by" in words(screen, "mark")
            run.type("resume" if stands else answer(item_of("walk-round", call)))
            screen.wait_for_timeout(60)
        run.wait_for("Walk round checklist complete.")
        press(screen, "proceed")
        expect(screen.locator("#list")).to_have_text("before start")
        touched = []
        while words(screen, "list") == "before start":
            call, said = words(screen, "item"), words(screen, "said")
            if said.startswith("That was quick"):
                screen.wait_for_timeout(PRESSED)
            found = item_of("before-start", call)
            if "standing by" in words(screen, "mark"):
                press(screen, "resume")
            elif isinstance(found.task, ReadValue):
                screen.fill("#number", "")
                enter(screen, answer(found))
            else:
                press(screen, answer(found))
            touched.append(call)
            screen.wait_for_function(SAYS_MORE, arg=said)
        run.wait_for("Before start checklist complete.")
        applied = [
            item.call
            for item in reedlark().list("before-start").items()
            if ("power", "ground-power") not in [(o.choice, o.option) for o in item.only_if]
        ]
        assert applied == list(dict.fromkeys(touched))


def test_a_brush_over_a_killer_item_does_nothing(chromium, tmp_path):
    with served(tmp_path) as found:
        screen = let_in(chromium, found)
        button(screen, "closed").click()
        expect(button(screen, "closed").locator(".how")).to_have_text("hold, or press again")
        assert "fuel-lever" == found.item()
        press(screen, "closed")
        named(screen, "battery master")


@pytest.mark.parametrize("down", [100, HELD])
def test_a_page_that_is_busy_knows_how_long_a_button_was_down(chromium, tmp_path, down):
    """What came of finger and clock while it was busy lies in one heap; the times tell."""
    with served(tmp_path) as found:
        screen = let_in(chromium, found)
        screen.evaluate(BUSY)
        button(screen, "closed").hover()
        screen.mouse.down()
        screen.wait_for_timeout(down)
        screen.mouse.up()
        screen.wait_for_function("window.times.length == 2")
        times = screen.evaluate("window.times")
        if times[1] - times[0] >= 700:
            named(screen, "battery master")
        else:
            expect(button(screen, "closed").locator(".how")).to_have_text("hold, or press again")
            assert "fuel-lever" == found.item()


def test_a_killer_item_is_answered_without_holding_by_two_presses(chromium, tmp_path):
    """WCAG 2.5.1 and 2.1.1: nothing hangs on a gesture or on a finger."""
    with served(tmp_path) as found:
        screen = let_in(chromium, found)
        button(screen, "closed").dispatch_event("click")
        screen.wait_for_timeout(1000)
        button(screen, "closed").dispatch_event("click")
        named(screen, "battery master")


def test_passing_a_killer_item_takes_two_actions_and_a_reason(chromium, tmp_path):
    with served(tmp_path) as found:
        screen = let_in(chromium, found)
        screen.click("summary")
        press(screen, "override")
        expect(screen.locator("#prompt")).to_contain_text("Say the reason")
        press(screen, "not fitted")
        expect(screen.locator("#prompt")).to_contain_text("Say confirm override")
        assert "fuel-lever" == found.item()
        press(screen, "confirm override")
        named(screen, "battery master")
        expect(screen.locator("#open")).to_contain_text("fuel lever (overridden)")


def test_a_wrong_answer_is_refused_by_name(chromium, tmp_path):
    with served(tmp_path) as found:
        screen = let_in(chromium, found)
        press(screen, "open")
        expect(screen.locator("#said")).to_contain_text("pen")
        assert "fuel-lever" == found.item()


def test_everything_can_be_done_by_keyboard(chromium, tmp_path):
    """Words typed anywhere go into the phrase and count with Enter; a button is held by Enter."""
    with served(tmp_path) as found:
        screen = let_in(chromium, found)
        screen.keyboard.type("closed")
        assert "fuel-lever" == found.item()
        screen.keyboard.press("Enter")
        named(screen, "battery master")
        button(screen, "isolated").focus()
        screen.keyboard.press("Enter")
        named(screen, "cabin extinguisher")


def test_two_touches_in_one_moment_answer_one_item(tmp_path):
    """Two items in a row have the same answer: the second touch finds what was asked gone."""
    with served(tmp_path, lists=("before-start",)) as found:
        for words in ("override", "already done", "confirm override"):
            found.touch(words)
        while found.item() != "pedals":
            found.touch(answer(item_of("before-start", found.in_hand().call)))
        with (
            found.socket(cookie=found.cookie()) as one,
            found.socket(cookie=found.cookie()) as two,
        ):
            shown = [view(one)["shown"], view(two)["shown"]]
            assert shown[0] == shown[1]
            for screen in (one, two):
                screen.send(json.dumps({"say": "full and free", "shown": shown[0]}))
            after = view(one)
            while found.touches < 2 or not after["item"].startswith("cyclic"):
                after = view(one)
        assert ("cyclic-stick", "cyclic stick") == (found.item(), after["item"])


def test_screens_are_in_step_and_a_reload_or_a_cut_line_loses_nothing(chromium, tmp_path):
    with served(tmp_path) as found:
        one, two = (let_in(chromium, found) for _ in range(2))
        press(one, "closed")
        named(two, "battery master")
        one.reload()
        named(one, "battery master")
        press(one, "isolated")
        named(two, "cabin extinguisher")
        with one.expect_websocket(), two.expect_websocket():
            for connection in found.serving.connections():
                found.serving.loop.call_soon_threadsafe(connection.abort)
        for screen in (one, two):
            expect(screen.locator("#contact")).to_have_text("In contact")
        press(two, "charged")
        named(one, "airspeed probe cover")
        assert "charged" == words(two, "heard")


def test_a_page_that_comes_later_shows_the_time_that_is_left(chromium, tmp_path):
    with served(tmp_path, lists=("cool-down",)) as found:
        for words in ("override", "already done", "confirm override", "six four", "six four"):
            found.touch(words)
        assert "idle-wait" == found.item()
        since = found.now()  # of two minutes
        let_in(chromium, found).close()
        found.began -= 60
        screen = let_in(chromium, found)
        left = screen.locator(".left")
        expect(left).to_have_text(re.compile("^(1:00|0:[0-5][0-9])$"))
        shown = int((left.text_content() or "").replace("1:00", "60").removeprefix("0:"))
        assert 120 - (found.now() - since) <= shown


def test_the_helpers_screen_has_the_helpers_items_only(chromium, tmp_path):
    with served(tmp_path, lists=("before-start",)) as found:
        helper = let_in(chromium, found, Who.HELPER)
        expect(helper.locator("#item")).to_have_text("Nothing for the helper now")
        expect(helper.locator("#invite-pilot")).to_be_hidden()
        for words in ("override", "already done", "confirm override"):
            found.touch(words)
        named(helper, "fire guard with extinguisher")
        press(helper, "in position")
        expect(helper.locator("#item")).to_have_text("Nothing for the helper now")
        assert "area" == found.item()


def test_markup_in_an_items_text_is_shown_as_text(chromium, tmp_path):
    bad = '<img src=x onerror="document.title=1"><script>document.title=2</script>'
    aircraft = reedlark()
    first = aircraft.lists[0]
    sections = [replace(part, items=tuple(replace(item, call=bad, why=bad) for item in part.items))
                for part in first.sections]  # fmt: skip
    lists = (replace(first, title=bad, sections=tuple(sections)), *aircraft.lists[1:])
    with served(tmp_path, aircraft=replace(aircraft, name=bad, notice=bad, lists=lists)) as found:
        screen = let_in(chromium, found)
        named(screen, bad)
        expect(screen.locator("#list")).to_have_text(bad)
        assert "callout" == screen.title()
        assert 0 == screen.locator("img:not(#code-picture)").count()


def test_a_code_for_the_helper_comes_from_the_pilots_page(chromium, tmp_path):
    with served(tmp_path) as found:
        screen = let_in(chromium, found)
        screen.click("#invite-helper")
        expect(screen.locator("#code")).to_be_visible()
        assert screen.evaluate("document.getElementById('code-picture').naturalWidth") > 0


def test_a_covered_screen_takes_no_touch_until_it_is_held(chromium, tmp_path):
    with served(tmp_path) as found:
        screen = let_in(chromium, found)
        screen.click("#cover")
        expect(screen.locator("#curtain")).to_be_visible()
        place = button(screen, "open").bounding_box()
        screen.mouse.click(place["x"] + 5, place["y"] + 5)
        screen.keyboard.press("Escape")
        screen.locator("#uncover").click()
        expect(screen.locator("#curtain")).to_be_visible()
        screen.locator("#uncover").click(delay=HELD)
        expect(screen.locator("#curtain")).to_be_hidden()
        assert "" == found.hub.seen.heard.text
