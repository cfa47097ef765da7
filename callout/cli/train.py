"""`callout train`: a second person learns, without an aircraft.

Rule of this file: it turns words of the command line into settings, and writes what
callout.trainer makes.
"""

from __future__ import annotations

import os
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from callout.cli.errors import say_errors
from callout.cli.files import HTML, PDF, SVG, write, write_and_tell
from callout.ear.choose import EARS
from callout.voice.choose import BUNDLED, VOICES

if TYPE_CHECKING:
    from collections.abc import Sequence

    from callout.checklist.model import Aircraft
    from callout.running.settings import Device, RunSettings
    from callout.trainer.load import LoadedDrill
    from callout.trainer.model import Drill
    from callout.trainer.schedule import Due
    from callout.trainer.store import Entry, PracticeBook

ANYBODY = "trainee"
FILE = click.Path(path_type=Path)


@click.command("train")
@click.argument("aircraft", type=FILE)
@click.option(
    "--role",
    type=click.Choice(["helper", "pilot", "both"]),
    default="helper",
    show_default=True,
    help="Whom you are; callout plays who is missing.",
)
@click.option("--drill", "name", default="", help="Which drill; whatever is due if none.")
@click.option(
    "--who",
    multiple=True,
    default=(ANYBODY,),
    show_default=True,
    help="Whose practice it is. Twice for --role both: first the pilot, then the helper.",
)
@click.option("--next", "ask_next", is_flag=True, help="Say what is due, and run nothing.")
@click.option(
    "--record",
    type=FILE,
    help="Write the training record (.pdf, .html; .svg for its drawing alone).",
)
@click.option(
    "--coach/--no-coach",
    default=None,
    help="Tell the words before they are wanted; the first time it does.",
)
@click.option(
    "--day",
    type=click.IntRange(0, 9999),
    help="The same number gives the same day of a drill; else each time another.",
)
@click.option("--debrief", type=FILE, help="Where the written debrief goes (.html).")
@click.option("--pdf", type=FILE, help="And as PDF.")
@click.option(
    "--ear",
    type=click.Choice(EARS),
    default=EARS[0],
    show_default=True,
    help="What understands the calls; keys takes typed words.",
)
@click.option(
    "--listen",
    multiple=True,
    default=("microphone",),
    show_default=True,
    help="As in run. Twice for --role both: first the pilot's, then the helper's.",
)
@click.option("--speak", default="loudspeaker", show_default=True, help="As in run.")
@click.option(
    "--voice",
    type=click.Choice([BUNDLED, *VOICES]),
    default=BUNDLED,
    show_default=True,
    help="As in run.",
)
@click.option(
    "--clock",
    type=click.Choice(["real", "recording"]),
    default="real",
    show_default=True,
    help="recording: as fast as the machine can.",
)
@click.option("--headset", is_flag=True, help="The microphone cannot hear callout.")
@click.option("--book", type=FILE, help="The practice book, a SQLite file; your own if none.")
@click.option("--drills", type=FILE, help="Folder of drills; drills/NAME beside the aircraft file.")
def command(
    aircraft: Path, role: str, name: str, who: tuple[str, ...], ask_next: bool, record: Path | None,
    coach: bool | None, day: int | None, debrief: Path | None, pdf: Path | None, ear: str,
    listen: tuple[str, ...], speak: str, voice: str, clock: str, headset: bool,
    book: Path | None, drills: Path | None,
) -> None:  # fmt: skip
    """Practise drills of AIRCRAFT by voice, with a simulated engine.

    callout plays the missing person and the engine, says the situation and the
    gauges, and afterwards what mattered most.

    Practice certifies nothing; the aircraft's own handbook rules.
    """
    from callout.checklist.load import load_all
    from callout.running.screen import Transcript
    from callout.running.train import TrainSettings, train
    from callout.running.train_book import BROKE_OFF, BookKeeper, broke_off
    from callout.running.train_choice import ROLES, Wanted, choose, stands
    from callout.trainer.load import drills_of
    from callout.trainer.store import PracticeBook, default_book

    with say_errors():
        _check_people(role, who, one_only=ask_next or record is not None)
        loaded = load_all(aircraft)
        known = drills_of(loaded, drills)
        kept = PracticeBook(book or default_book())
        entries, now = [kept.entries(one, loaded.aircraft.name) for one in who], datetime.now(UTC)
        wanted = Wanted(ROLES[role], name, coach, day)
        if record is not None:
            _record(record, who[0], loaded.aircraft, known, kept, now)
            return
        if ask_next:
            _say_next(stands(known, wanted.roles, entries[0], now), now)
            return
        picked, practice = choose(known, wanted, entries, now)
        run, second = _settings(aircraft, ear, listen, speak, voice, clock, headset)
        if broken := [text for one in who if (text := broke_off(kept, one, loaded.aircraft.name))]:
            click.echo("\n".join(broken))
            practice = replace(practice, news=BROKE_OFF)
        settings, keeper = TrainSettings(run, practice, second), BookKeeper(kept, who, picked)
        train(picked, settings, Transcript(), keeper.practised, keeper.goes_on)
        _told(kept, who, entries, picked.drill, loaded.aircraft, debrief, pdf)


def _check_people(role: str, who: tuple[str, ...], *, one_only: bool) -> None:
    if len(who) > (2 if role == "both" else 1):
        raise click.UsageError("--who may be given twice, and only with --role both.")
    if len(set(who)) < len(who):
        raise click.UsageError("--who was given twice with one name; give it once.")
    if one_only and len(who) > 1:
        raise click.UsageError("--next and --record are about one person: give --who once.")


def _settings(
    aircraft: Path, ear: str, listen: tuple[str, ...], speak: str, voice: str, clock: str,
    headset: bool,
) -> tuple[RunSettings, Device | Path | None]:  # fmt: skip
    from callout.running.settings import LOUDSPEAKER, MICROPHONE, Phone, RunSettings, sound_end

    if len(listen) > 2:
        raise click.UsageError("--listen may be given twice: the pilot's, then the helper's.")
    places = [sound_end(one, MICROPHONE) for one in listen]
    run = RunSettings(
        aircraft=aircraft, logbook=Path(os.devnull), ear=ear, voice=voice, listen=places[0],
        speak=sound_end(speak, LOUDSPEAKER), recording_time=clock == "recording",
        headset=headset,
    )  # fmt: skip
    second = places[1] if len(places) > 1 else None
    if isinstance(second, Phone):
        raise click.UsageError("The second --listen is a microphone or a recording.")
    return run, second


def _say_next(found: Sequence[Due], now: datetime) -> None:
    """How every drill stands, what is due first."""
    from callout.trainer.schedule import next_of

    best = next_of(found, now)
    for one in found:
        mark = "->" if best is not None and one.drill == best.drill else "  "
        last = "never" if one.last is None else f"{one.last:3d} % last"
        when = "new" if one.due is None else f"due {one.due.astimezone():%Y-%m-%d %H:%M}"
        click.echo(f"{mark} {one.drill:<26} {one.times:2d} times  {last:<11} {when}")


def _record(
    file: Path, who: str, aircraft: Aircraft, known: Sequence[LoadedDrill], book: PracticeBook,
    now: datetime,
) -> None:  # fmt: skip
    """The training record, or its drawing alone."""
    from callout.running.train_choice import ROLES, stands
    from callout.trainer.telling import record_values

    kind = file.suffix.lower()
    if kind not in (".pdf", ".html", ".svg"):
        raise click.UsageError(f"{file} is no name for a record: it must end in .pdf, .html, .svg.")
    entries = book.entries(who, aircraft.name)
    if kind == ".svg":
        _draw(file, entries)
        return
    found = [due for roles in ROLES.values() for due in stands(known, roles, entries, now)]
    as_whom = {one.roles for one in entries} or {"helper"}
    done = [due for due in found if due.roles in as_whom]
    cut = book.cut_short(who, aircraft.name)
    _print(file, "record", record_values(who, aircraft, entries, done, now, cut))


def _draw(file: Path, entries: Sequence[Entry]) -> None:
    """The drawing of a person's progress alone."""
    from callout.trainer.plotting import NoPictureError, progress_picture

    if not entries:
        raise click.UsageError("Nothing was practised yet: there is no progress to draw.")
    try:
        drawn = progress_picture(entries)
    except NoPictureError as error:
        raise click.UsageError(str(error)) from None
    write(file, drawn, SVG)


def _told(
    book: PracticeBook, who: Sequence[str], before: Sequence[Sequence[Entry]], drill: Drill,
    aircraft: Aircraft, debrief: Path | None, pdf: Path | None,
) -> None:  # fmt: skip
    """The written debrief of each person, if the drill was counted."""
    from callout.running.train_book import told
    from callout.trainer.telling import debrief_values

    for place, (name, old) in enumerate(zip(who, before, strict=True)):
        entries = book.entries(name, aircraft.name)
        if len(entries) == len(old):
            cut = book.last_attempt(name, aircraft.name)
            click.echo(f"Not gone through: {told(cut)}" if cut else "Nothing was done.", err=True)
            continue
        values = debrief_values(entries[-1], drill, aircraft)
        page = debrief or book.path.parent / f"debrief-{entries[-1].number}.html"
        _print(_of(page, name, place), "debrief", values)
        if pdf is not None:
            _print(_of(pdf, name, place), "debrief", values)


def _of(file: Path, who: str, place: int) -> Path:
    """The second person's file has his name in its own."""
    return file.with_stem(f"{file.stem}-{who}") if place else file


def _print(file: Path, name: str, values: dict[str, object]) -> None:
    from callout.trainer.printing import NoPaperError, page, paper

    try:
        as_pdf = file.suffix.lower() in PDF
        made = paper(name, values) if as_pdf else page(name, values).encode("utf-8")
    except NoPaperError as error:
        raise click.UsageError(str(error)) from None
    write_and_tell(file, made, PDF if as_pdf else HTML)
