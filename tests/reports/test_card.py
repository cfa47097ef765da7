"""The printed card: the words of the file, all of them, in order, whole items on a page.

What a card must show follows the attributes of an emergency list in the UK CAA's
CAP 676 as recalled (from memory: clear title and entry condition, unambiguous
object and state, conditional steps marked, a clear end, nothing crossing a page).
"""

from __future__ import annotations

import io
import re
import subprocess
import sys
from decimal import Decimal
from pathlib import Path

import pytest
from pypdf import PdfReader

from callout.checklist.load import load_all
from callout.checklist.model import Aircraft, Ask, Item, ListKind
from callout.reports.card import card
from callout.reports.card_paper import SIZES, booklet, card_pdf, typeset
from callout.words.say_numbers import say_digits

EXAMPLE = Path("checklists/reedlark.yaml")
POINTS = 72 / 25.4


def words(text: str) -> str:
    """What is read off the paper: leaders and breaks are no words."""
    return " ".join(re.sub(r"(\s*\.){2,}", " ", text).split())


def pages(pdf: bytes) -> list[str]:
    return [words(page.extract_text()) for page in PdfReader(io.BytesIO(pdf)).pages]


def printed(file: Path, size: str = "a5") -> list[str]:
    loaded = load_all(file)
    return pages(card_pdf(card(loaded.aircraft, loaded.fingerprint[:12]), size))


@pytest.fixture(scope="module")
def example() -> Aircraft:
    return load_all(EXAMPLE).aircraft


@pytest.fixture(scope="module")
def a5() -> list[str]:
    return printed(EXAMPLE)


@pytest.fixture(scope="module")
def knee() -> list[str]:
    return printed(EXAMPLE, "knee")


def answers(item: Item) -> list[str]:
    return [", or ".join(item.task.answers)] if isinstance(item.task, Ask) else []


def read_in_order(text: str, parts: list[str]) -> None:
    at = 0
    for part in parts:
        found = text.find(words(part), at)
        assert found >= 0, f"{part!r} does not stand after {text[max(0, at - 80) : at]!r}"
        at = found + len(words(part))


@pytest.mark.parametrize("size", ["a5", "knee"])
def test_the_text_of_the_paper_is_that_of_the_lists(size, example, request):
    """Every list, every call with its answer, in the order of the file; aborts come last."""
    text = " ".join(request.getfixturevalue(size)[1:])
    ordered = sorted(example.lists, key=lambda one: one.kind is not ListKind.NORMAL)
    parts = []
    for one in ordered:
        parts.append(one.title)
        for item in one.items():
            parts += [item.call, *answers(item)]
        parts.append(f"End of {one.title}")

    read_in_order(text, parts)


@pytest.mark.parametrize("size", ["a5", "knee"])
def test_no_item_is_split_over_pages(size, example, request):
    sheets = request.getfixturevalue(size)
    for one in example.lists:
        for number, item in enumerate(one.items(), 1):
            for answer in answers(item):
                row = rf"\b{number} [^0-9]*{re.escape(item.call)}.*?{re.escape(answer)}"
                assert any(re.search(row, sheet) for sheet in sheets), item.call


def test_every_page_carries_revision_and_fingerprint_of_the_spoken_list(a5, example):
    command = [sys.executable, "-m", "callout", "check", str(EXAMPLE)]
    checked = subprocess.run(command, capture_output=True, text=True, check=True).stdout
    spoken = re.search(r"^Fingerprint: (\S{12})", checked, re.MULTILINE)

    assert spoken is not None
    for page in a5:
        assert f"{example.name}, revision {example.revision}, {spoken[1]}" in page


def test_a_list_that_breaks_in_has_pages_of_its_own(a5, example):
    for one in example.lists:
        if one.kind is not ListKind.NORMAL:
            mine = [page for page in a5 if f"End of {one.title}" in page]
            assert 1 == len(mine)
            assert 1 == mine[0].count("End of ")


def test_a_list_says_when_it_is_read_and_where_it_ends(a5):
    text = " ".join(a5)

    assert 'When: "abort" is called during start.' in text
    assert "When: hot start, during start." in text
    assert "Before it: walk round complete." in text
    assert '"abort" leads to: start abort' in text
    assert "if own battery: battery voltage" in text


def test_numbers_are_digits_with_the_file_s_limits(a5):
    text = " ".join(a5)

    assert "at least 24.6 V" in text
    assert "26.0 to 28.8 V" in text
    assert "above 740 °C for at most 5 s, never above 800 °C" in text


def test_the_first_page_says_whose_numbers_these_are_and_that_the_handbook_rules(a5, example):
    assert example.notice in a5[0]
    assert example.limits_from.handbook in a5[0]
    assert "handbook rules" in a5[0]
    assert "does not say that it is safe to start or fly" in a5[0]


def test_killer_items_are_set_in_bold_and_others_are_not(example):
    """By the typeface of the words themselves."""
    loaded = load_all(EXAMPLE)
    pdf = card_pdf(card(loaded.aircraft, "x", ("walk-round",)), "a5")
    bold = io.StringIO()

    def keep(text, _cm, _tm, font, _size):
        if font is not None and "Bold" in font["/BaseFont"] and "Semibold" not in font["/BaseFont"]:
            bold.write(text)

    PdfReader(io.BytesIO(pdf)).pages[-1].extract_text(visitor_text=keep)
    for item in example.list("walk-round").items():
        assert item.killer == (item.call in words(bold.getvalue())), item.call


@pytest.mark.parametrize("size", ["a5", "knee"])
def test_pages_have_their_size(size):
    loaded = load_all(EXAMPLE)
    pdf = card_pdf(card(loaded.aircraft, "x", ("start",)), size)
    box = PdfReader(io.BytesIO(pdf)).pages[0].mediabox

    assert SIZES[size] == (round(box.width / POINTS), round(box.height / POINTS))


def test_a_booklet_reads_on_when_it_is_folded():
    """Sheets printed on both sides and folded together: turning pages gives 0, 1, 2 ..."""
    for count in range(1, 30):
        sides = list(booklet(count))
        leaves = [(front[1], back[0]) for front, back in zip(sides[::2], sides[1::2], strict=True)]
        leaves += [
            (back[1], front[0])
            for front, back in reversed(list(zip(sides[::2], sides[1::2], strict=True)))
        ]
        turned = [page for leaf in leaves for page in leaf]

        assert [*range(count), *[None] * (-count % 4)] == turned


def test_a_folded_card_holds_the_same_pages_two_on_a_sheet_of_a4():
    loaded = load_all(EXAMPLE)
    some = card(loaded.aircraft, "x", ("start", "run-up", "hot-start"))
    single = pages(card_pdf(some, "a5"))
    sheets = PdfReader(io.BytesIO(card_pdf(some, "a4-folded"))).pages
    box = sheets[0].mediabox
    shown = [words(sheet.extract_text()) for sheet in sheets]

    assert (297, 210) == (round(box.width / POINTS), round(box.height / POINTS))
    assert (len(single) + 3) // 4 * 2 == len(shown)
    assert single[0] in shown[0]
    assert single[1] in shown[1]
    assert all(page in " ".join(shown) for page in single)


LONG = """callout: 1
aircraft:
  name: Wrenlet
  revision: "7 #[b]"
  written_by: "*nobody* #panic() $x$ <script>"
  limits_from: {handbook: none}
lists:
  long:
    items:
"""


def test_a_list_too_long_for_a_page_goes_on_and_says_so(tmp_path):
    file = tmp_path / "long.yaml"
    calls = [f"lever {say_digits(Decimal(at))}" for at in range(90)]
    file.write_text(
        LONG + "".join(f"      - call: {call}\n        answer: closed\n" for call in calls)
    )

    sheets = [page for page in printed(file) if "lever" in page]

    assert 2 < len(sheets)
    assert all("long goes on overleaf" in page for page in sheets[:-1])
    assert all("long, continued" in page for page in sheets[1:])
    assert "End of long" in sheets[-1]
    assert calls[-1] in sheets[-1]  # the end never stands alone
    read_in_order(" ".join(sheets), calls)


def test_markup_in_a_file_is_printed_and_not_obeyed(tmp_path):
    file = tmp_path / "marked.yaml"
    file.write_text(LONG + "      - call: lever\n        answer: closed\n")

    assert "*nobody* #panic() $x$ <script>" in printed(file)[0]
    assert "revision 7 #[b]" in printed(file)[0]


def test_pictures_show_ink_inside_the_page_only():
    """The edge stays white on a list that is read in order: nothing runs off the paper."""
    import numpy as np
    from PIL import Image

    loaded = load_all(EXAMPLE)
    made = typeset(card(loaded.aircraft, "x", ("walk-round", "start")), "knee", "png", 60)
    for one in made:
        ink = np.asarray(Image.open(io.BytesIO(one)).convert("L")) < 128
        edge = np.ones_like(ink)
        edge[6:-6, 6:-6] = False
        assert ink.any()
        assert not (ink & edge).any()


def test_the_command_writes_the_file_and_names_lists_it_does_not_know(tmp_path):
    command = [sys.executable, "-m", "callout", "print", str(EXAMPLE.resolve())]
    made = subprocess.run(
        [*command, "--size", "knee", "--list", "start"],
        cwd=tmp_path, capture_output=True, text=True, check=True,
    )  # fmt: skip
    refused = subprocess.run(
        [*command, "--list", "strat"], cwd=tmp_path, capture_output=True, text=True, check=False
    )

    assert "reedlark-knee.pdf: " in made.stderr
    assert "End of start" in " ".join(pages((tmp_path / "reedlark-knee.pdf").read_bytes()))
    assert 2 == refused.returncode
    assert 'Reedlark has no list "strat"; did you mean "start"?' in words(refused.stderr)
