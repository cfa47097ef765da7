"""Documents that were made to do harm, or are odd: every word is kept, or a sentence says why not.

What a search found stands in tests/fuzz/corpus/documents and is replayed there.
"""

from __future__ import annotations

import zipfile

import pytest
from click.testing import CliRunner

from callout.cli.main import main
from callout.writing.documents import LONGEST, NoDocument, read
from callout.writing.office import DEEPEST, MOST_UNPACKED
from callout.writing.taking_over import MOST_PIECES, take_over

WORD = 'xmlns:w="http://schemas.openxmlformats.org/wordprocessingml/2006/main"'
OFFICE = "urn:oasis:names:tc:opendocument:xmlns"
TEXT = f'xmlns:t="{OFFICE}:text:1.0" xmlns:b="{OFFICE}:table:1.0"'


def _packed(path, part, text):
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr(part, text)
    return path


def _word(text):
    return f"<w:p><w:t>{text}</w:t></w:p>"


def test_a_table_in_a_cell_and_a_box_in_a_cell_come_after_their_row_and_once(tmp_path):
    inner = (
        f"<w:tbl><w:tr><w:tc>{_word('Door')}</w:tc><w:tc>{_word('latched')}</w:tc></w:tr></w:tbl>"
    )
    box = f"<w:p><w:txbxContent>{_word('In a box')}</w:txbxContent></w:p>"
    row = f"<w:tr><w:tc>{_word('Cabin')}{inner}</w:tc><w:tc>{box}</w:tc></w:tr>"
    paper = _packed(
        tmp_path / "list.docx", "word/document.xml", f"<w:d {WORD}><w:tbl>{row}</w:tbl></w:d>"
    )

    assert [("Cabin", ""), ("Door", "latched"), ("In a box",)] == [p.cells for p in read(paper)]


def test_a_note_in_a_cell_of_an_open_document_is_not_lost(tmp_path):
    note = "<t:note-body><t:p>only when cold</t:p></t:note-body>"
    cells = f"<b:table-cell><t:p>Door{note}</t:p></b:table-cell><b:table-cell/>"
    paper = _packed(
        tmp_path / "list.odt",
        "content.xml",
        f"<o {TEXT}><b:table><b:table-row>{cells}</b:table-row></b:table></o>",
    )

    assert [("Door", ""), ("only when cold",)] == [piece.cells for piece in read(paper)]


def test_what_is_nested_without_end_or_unpacks_to_too_much_is_refused(tmp_path):
    deep = "<a>" * (DEEPEST + 1) + "</a>" * (DEEPEST + 1)
    large = f"<a>{'x' * MOST_UNPACKED}</a>"
    for text, why in ((deep, "nested deeper than 150 levels"), (large, "more than 10 MB of text")):
        with pytest.raises(NoDocument, match=why):
            read(_packed(tmp_path / "list.docx", "word/document.xml", text))


def test_a_book_is_no_checklist(tmp_path):
    book, made = tmp_path / "book.txt", tmp_path / "made.yaml"
    book.write_text("Door - latched\n" * (MOST_PIECES + 1))
    shown = CliRunner().invoke(main, ["import", str(book), "--to", str(made)])

    assert 2 == shown.exit_code
    assert "book.txt has 3001 lines; expected a checklist, with 3000 at most" in shown.output
    assert not made.exists()


@pytest.mark.parametrize(
    ("line", "why"),
    [
        ("a" + "\t" * 400 + "b", "line 1 has more than 3000 characters"),
        ("x" * (LONGEST + 1), "line 1 has more than 3000 characters"),
        (("Door " * 500 + "\n") * 130, "has more text than a checklist"),
    ],
    ids=["tabs", "one long line", "two hundred pages"],
)
def test_what_no_list_has_is_refused_before_it_is_looked_at(tmp_path, line, why):
    paper = tmp_path / "list.txt"
    paper.write_text(line)

    with pytest.raises(NoDocument, match=why):
        read(paper)


def test_a_number_that_no_gauge_shows_is_no_value(tmp_path):
    paper = tmp_path / "list.txt"
    paper.write_text(f"Oil - {'9' * 30} bar\n")

    assert "read:" not in take_over(read(paper), "list.txt").text
