"""`callout doctor`: what is here for a session, what is missing, and the line that installs it.

Rule of this file: it prints; what is tried and how stands in callout/running/diagnosis.py.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path

import click

from callout.cli.doctor_levels import levels
from callout.logbook.places import default_logbook
from callout.running.findings import Diagnosis, Finding, Need, Part

_TITLES = {
    Part.MICROPHONE: "Microphones (--listen)",
    Part.LOUDSPEAKER: "Loudspeakers (--speak)",
    Part.EAR: "Ears",
    Part.VOICE: "Voices",
    Part.LOGBOOK: "Logbook",
    Part.CLIPS: "Prepared speech",
}


@click.group("doctor", invoke_without_command=True)
@click.pass_context
@click.option(
    "--need",
    "needs",
    multiple=True,
    type=click.Choice([need.value for need in Need]),
    help="Exit with status 1 if this is not here; may be given many times.",
)
@click.option("--quiet", is_flag=True, help="Print nothing; the exit status tells.")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
@click.option(
    "--logbook", type=click.Path(path_type=Path), help="The logbook; your own if not given."
)
def command(
    ctx: click.Context, needs: tuple[str, ...], quiet: bool, as_json: bool, logbook: Path | None
) -> None:
    """Say which devices, ears and voices are here, and how to get what is missing.

    Everything is tried: devices are opened, ears loaded, voices made to speak
    (into nothing). The exit status is 0 when a session can be held: an ear
    understands words and the logbook can be written. What it says is shown
    where no voice or loudspeaker works, and answers can be typed.
    """
    if ctx.invoked_subcommand is not None:
        return
    wanted = tuple(Need(need) for need in needs)
    diagnosis = _diagnose(logbook or default_logbook(), wanted if quiet else None)
    if as_json and not quiet:
        click.echo(json.dumps(diagnosis.as_json(), indent=2))
    elif not quiet:
        _print(diagnosis)
    lacks = [need for need in wanted if not diagnosis.has(need)]
    if not quiet and not as_json:
        for need in lacks:
            click.echo(f"Needed and not here: {need.value}.")
    sys.exit(0 if diagnosis.can_hold_session and not lacks else 1)


command.add_command(levels)


def _diagnose(logbook: Path, only: tuple[Need, ...] | None) -> Diagnosis:
    """Try everything, or `only` what decides the exit status."""
    from callout.running.diagnosis import EVERYTHING, diagnose
    from callout.running.trying import Trying
    from callout.voice.clips import default_folder

    parts = EVERYTHING
    if only is not None:
        devices = {Part(need.value) for need in only if need is not Need.VOSK}
        parts = tuple(devices | {Part.EAR, Part.LOGBOOK})
    return diagnose(logbook, default_folder(), Trying(), parts, every_device=only is None)


def _print(diagnosis: Diagnosis) -> None:
    for part, title in _TITLES.items():
        click.echo(title)
        for finding in diagnosis.of(part):
            _print_one(finding)
    click.echo("Versions")
    click.echo("  " + ", ".join(f"{n} {v or 'not here'}" for n, v in diagnosis.versions.items()))
    can = diagnosis.can_hold_session
    click.echo("A session can be held." if can else "No session can be held: see above.")


def _print_one(finding: Finding) -> None:
    mark = "works" if finding.works else "no"
    device = finding.part in (Part.MICROPHONE, Part.LOUDSPEAKER)
    shown = finding.use if device and finding.use else finding.name
    if shown == finding.part and finding.name:
        shown = f"{shown} ({finding.name}, the system's choice)"
    click.echo(f"  {mark:7} {shown}: {finding.says}")
    if finding.get:
        click.echo(f"          {finding.get}")
