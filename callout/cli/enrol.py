"""`callout enrol NAME`: learn how one pilot speaks in his own headset.

Rule of this file: it asks, listens and tells; what is measured and adapted
stands in callout/ear/enrolment.py.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import click

from callout.cli.errors import say_errors

if TYPE_CHECKING:
    from callout.ear.enrolment import Measured, Profile
    from callout.running.enrolling import Reading

_SHOWN = 12


@click.command(name="enrol")
@click.argument("name")
@click.option("--listen", default="microphone", show_default=True,
              help="microphone[:NAME]; a recording of the words read in the order shown; "
                   "or a set of recordings, SET.json.")  # fmt: skip
@click.option("--aircraft", type=click.Path(exists=True, dir_okay=False, path_type=Path),
              help="Whose answers are read besides the common words.")  # fmt: skip
@click.option("--profiles", type=click.Path(file_okay=False, path_type=Path),
              help="Folder of profiles; your own if not given.")  # fmt: skip
@click.option("--words", is_flag=True, help="Only print what is to be read, one a line.")
def command(
    name: str, listen: str, aircraft: Path | None, profiles: Path | None, words: bool
) -> None:
    """Read the vocabulary aloud in your own headset: three to five minutes.

    It measures what is understood of you, adapts, measures again on words that
    the adaptation has not seen, and keeps a profile under NAME.
    """
    from callout.ear.problems import EarProblem
    from callout.running import enrolling
    from callout.running.recording_sets import SetError

    if not name.isidentifier():
        raise click.BadParameter("a name is letters, digits and underscores.", param_hint="NAME")
    with say_errors():
        prompts = enrolling.prompts(aircraft)
    if words:
        click.echo("\n".join(prompts))
        return
    try:
        reading = _reading(listen, prompts)
        profile = enrolling.make_profile(name, reading)
        path = enrolling.profile_path(name, profiles)
        changed = enrolling.other_headset(path, profile)
        enrolling.keep(profile, path)
    except (EarProblem, SetError, ValueError) as problem:
        raise click.ClickException(str(problem)) from problem
    _show(profile, path)
    if changed is not None:
        click.echo(f"Not the headset of the profile before: its sound differs by {changed:.0f} dB.")


def _reading(listen: str, prompts: tuple[str, ...]) -> Reading:
    from callout.running import enrolling

    if listen.partition(":")[0] == "microphone":
        return enrolling.from_microphone(listen.partition(":")[2], prompts, _ask)
    path = Path(listen)
    if path.suffix == ".json":
        return enrolling.from_set(path)
    return enrolling.from_recording(path, prompts)


def _ask(place: int, count: int, text: str) -> None:
    click.echo(f"{place} of {count}. Say: {text}")
    sys.stdout.flush()


def _show(profile: Profile, path: Path) -> None:
    for line in _lines(profile):
        click.echo(line)
    click.echo(f"Kept in {path}")


def _lines(profile: Profile) -> Iterator[str]:
    yield _line("Before", profile.before)
    yield _line("After", profile.after)
    if profile.adapter is None:
        yield "No correction of sounds helped; none is used."
    if profile.after.missed:
        more = len(profile.after.missed) - _SHOWN
        missed = ", ".join(profile.after.missed[:_SHOWN])
        yield f"Not yet understood: {missed}{f' and {more} more' if more > 0 else ''}."


def _line(when: str, measured: Measured) -> str:
    return (
        f"{when}: {measured.sure} of {measured.n} accepted, "
        f"the right one nearest {measured.right} times."
    )
