"""Five documents of invented owners, and what each of them meant.

Three lie beside this file as they were typed; the two office documents are made
by libraries that are not ours (python-docx, odfdo), so that reading them is held
against what others write. A ".truth" file has one item a line, written by hand
from the document before anything was read: list | call | what counts | flags.
"""

from __future__ import annotations

from pathlib import Path

import docx
from odfdo import Document, Header, List, Paragraph, Row, Table

from callout.checklist.load import load
from callout.checklist.model import Advise, Aircraft, Ask, Item, ReadValue, Wait, Who

HERE = Path(__file__).parent / "documents"
NAMES = ("ultralight.txt", "gyroplane.md", "turbine.csv", "helicopter.docx", "stand.odt")


def document(name: str, folder: Path) -> Path:
    """The document as a file."""
    if name == "helicopter.docx":
        return _helicopter(folder / name)
    if name == "stand.odt":
        return _stand(folder / name)
    return HERE / name


def _helicopter(path: Path) -> Path:
    made = docx.Document()
    made.sections[0].header.paragraphs[0].text = "Dragonette two-seat helicopter (invented)"
    made.sections[0].footer.paragraphs[0].text = "Issue 4. The flight manual rules."
    made.add_heading("Normal procedures", 0)
    made.add_heading("Daily inspection", 1)
    for line in (
        "Main rotor tie: removed (critical)",
        "Tail rotor blades: no cracks",
        "Fuel sample: clear and bright",
        "Engine oil: between min and max",
        "Doors: latched",
    ):
        made.add_paragraph(line, style="List Bullet")
    made.add_heading("Before engine start", 1)
    _docx_table(
        made,
        ("Item", "Action"),
        ("Seat belts", "FASTENED"),
        ("Collective", "FULL DOWN, FRICTION ON"),
        ("Cyclic", "FREE AND CENTRED"),
        ("Voltage", "> 24 V"),
    )
    made.add_heading("Run up", 1)
    _docx_table(
        made,
        ("Item", "Limit"),
        ("Rotor rpm", "98 - 102 %"),
        ("Oil temperature", "below 95 °C"),
        ("Warm up", "90 s"),
        ("Warning lights", "OUT"),
    )
    made.add_heading("Shutdown", 1)
    for line in (
        "Throttle\tGROUND IDLE",
        "Cool down\t2 minutes",
        "Fuel valve\tCLOSED (critical)",
        "Rotor brake\tAPPLIED BELOW 40%",
        "Battery switch\tOFF",
        "WARNING: Nobody leaves or comes near before the rotor has stopped.",
    ):
        made.add_paragraph(line)
    made.save(path)
    return path


def _docx_table(made: docx.document.Document, *rows: tuple[str, ...]) -> None:
    table = made.add_table(rows=0, cols=2)
    for row in rows:
        cells = table.add_row().cells
        for cell, text in zip(cells, row, strict=True):
            cell.text = text


def _stand(path: Path) -> Path:
    made = Document("text")
    body = made.body
    body.clear()
    body.append(Header(1, "Setting up"))
    body.append(
        List(
            [
                "Tighten stand bolts",
                "Install intake guard",
                "Connect gas bottle",
                "Extinguisher – beside the wall (helper)",
                "Check load cell",
            ]
        )
    )
    body.append(Header(1, "Running"))
    table = Table("running")
    for cells in (
        ("Step", "Value"),
        ("Blower", "on"),
        ("Gas valve", "open"),
        ("Shaft speed", "min 35 %"),
        ("Gas pressure", "3 to 12 bar"),
    ):
        row = Row()
        row.set_values(list(cells))
        table.append_row(row)
    body.append(table)
    body.append(Paragraph("Let it idle for 60 seconds"))
    body.append(Header(1, "Stopping"))
    body.append(List(["Gas valve closed !!", "Casing – max. 80 °C", "Gas bottle closed"]))
    body.append(Header(1, "Emergency stop"))
    body.append(List(["Gas valve – closed", "Blower – blowing"]))
    made.save(path)
    return path


def truth(name: str) -> list[str]:
    """What the owner meant, a line an item."""
    file = HERE / f"{name.rpartition('.')[0]}.truth"
    return file.read_text(encoding="utf-8").splitlines()


def taken(path: Path) -> list[str]:
    """What stands in an aircraft file, in the same words."""
    aircraft = load(path)
    return [
        f"{one.title} | {_told(aircraft, item)}" for one in aircraft.lists for item in one.items()
    ]


def _told(aircraft: Aircraft, item: Item) -> str:
    if isinstance(item.task, Advise):
        return f"say {item.call}"
    flags = [" | killer"] * item.killer + [" | helper"] * (item.who is Who.HELPER)
    return f"{item.call} | {_counts(aircraft, item)}{''.join(flags)}"


def _counts(aircraft: Aircraft, item: Item) -> str:
    match item.task:
        case Ask(answers=(answer,)):
            return answer
        case Wait(seconds=seconds):
            return f"{seconds:g} s"
        case ReadValue(gauge=gauge, accept=band):
            unit = aircraft.gauge(gauge).unit.replace("°", "deg")
            if band.at_least is None:
                return f"<= {band.at_most} {unit}"
            if band.at_most is None:
                return f">= {band.at_least} {unit}"
            return f"{band.at_least} .. {band.at_most} {unit}"
    return "?"
