"""`callout hear`: what is understood, live or from a recording, and nothing ticked.

Rule of this file: it prints what an ear says. Nothing here decides what counts:
the phrases come from the command line or from the engine's own grammar.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Iterable, Iterator
from pathlib import Path

import click

from callout.audio_block import AudioBlock
from callout.cli.errors import say_errors
from callout.ear.choose import EARS
from callout.ear.problems import EarProblem
from callout.ear.protocol import Ear
from callout.engine.events import Heard, NotUnderstood
from callout.words.phrases import Grammar, Phrase

_MICROPHONE = "microphone"


@click.command("hear")
@click.argument("aircraft", type=click.Path(path_type=Path), required=False)
@click.argument("item", metavar="LIST/ITEM", required=False)
@click.option("--ear", type=click.Choice(EARS), default=EARS[0], show_default=True)
@click.option("--model", type=click.Path(path_type=Path), help="The Vosk model: name or folder.")
@click.option(
    "--listen",
    default=_MICROPHONE,
    show_default=True,
    help="microphone, microphone:NAME or a recording (WAV, FLAC, OGG, Opus).",
)
@click.option("--phrase", "phrases", multiple=True, help="What counts; may be given many times.")
def command(
    aircraft: Path | None,
    item: str | None,
    ear: str,
    model: Path | None,
    listen: str,
    phrases: tuple[str, ...],
) -> None:
    """Show what is understood, with how sure it is, when it was said, and what is refused.

    What counts is given by --phrase, or is what counts at one item of an
    aircraft's list. Without either, the words that are always heard count.
    Ctrl-C ends it.
    """
    with say_errors():
        grammar = _grammar(aircraft, item, phrases)
        began = time.monotonic()
        made = make(ear, model, began)
        _warn_of_unsayable(ear, grammar)
        made.listen_for(grammar)
        counts = {"heard": 0, "refused": 0}
        try:
            for event in _events(made, ear, listen, began):
                counts["heard" if isinstance(event, Heard) else "refused"] += 1
                click.echo(_line(event))
        except KeyboardInterrupt:
            click.echo()
        finally:
            made.close()
    click.echo(f"{counts['heard']} understood, {counts['refused']} refused")


def make(ear: str, model: Path | None, began: float) -> Ear:
    """Return the ear, its clock starting at `began` (monotonic s)."""
    from callout.ear.choose import make_ear

    return make_ear(ear, model, now=lambda: time.monotonic() - began)


def _events(ear: Ear, name: str, listen: str, began: float) -> Iterator[Heard | NotUnderstood]:
    sounds = sys.stdin if name == "keys" else _blocks(listen, began)
    for sound in sounds:
        yield from ear.hear(sound)


def _blocks(listen: str, began: float) -> Iterable[AudioBlock]:
    head, _, words = listen.partition(":")
    if head != _MICROPHONE:
        from callout.ear.from_file import blocks

        return blocks(Path(listen))
    from callout.ear.capture import Microphone

    microphone = Microphone(words, lambda: time.monotonic() - began)
    click.echo(f"Listening to {microphone.name!r}; Ctrl-C ends it.")
    return microphone.blocks()


def _line(event: Heard | NotUnderstood) -> str:
    span = f"{event.began:7.2f} to {event.ended:.2f} s"
    if isinstance(event, Heard):
        return f"{span}  heard    {event.text!r}, certainty {event.certainty:.2f}"
    guess = f"; nearest {event.guess!r}, certainty {event.certainty:.2f}" if event.guess else ""
    return f"{span}  refused  {event.why}{guess}"


def _grammar(aircraft: Path | None, item: str | None, phrases: tuple[str, ...]) -> Grammar:
    if aircraft is not None:
        if item is None or phrases:
            raise click.UsageError("Give AIRCRAFT.yaml with LIST/ITEM, or --phrase, not both.")
        return _of_item(aircraft, item)
    from callout.words.normal import normalise
    from callout.words.universal import ALWAYS_HEARD, forms

    texts = phrases or tuple(form for word in ALWAYS_HEARD for form in forms(word))
    return Grammar(1, tuple(Phrase(text, text) for text in dict.fromkeys(map(normalise, texts))))


def _of_item(path: Path, wanted: str) -> Grammar:
    """Return what counts while the item is being asked."""
    from callout.checklist.load import load_all
    from callout.engine.grammar import grammar_of
    from callout.engine.rules import State
    from callout.engine.state import Mark, Progress, SessionState

    aircraft = load_all(path).aircraft
    list_id, _, item_id = wanted.partition("/")
    names = [checklist.id for checklist in aircraft.lists]
    if list_id not in names:
        raise EarProblem(f"There is no list {list_id!r} in {path}; it has {', '.join(names)}.")
    ids = [item.id for item in aircraft.list(list_id).items()]
    if item_id not in ids:
        raise EarProblem(f"There is no item {item_id!r} in {list_id}; it has {', '.join(ids)}.")
    progress = Progress(list_id, (Mark(),) * len(ids), opened_at=0.0)
    state = SessionState(mode=State.ASKING, run=progress, item=ids.index(item_id))
    return grammar_of(aircraft, state)


def _warn_of_unsayable(ear: str, grammar: Grammar) -> None:
    if ear not in ("built-in", "pocketsphinx"):
        return
    from callout.ear.pocketsphinx_ear import unknown_words

    words = unknown_words(grammar)
    if words:
        click.echo(f"Cannot be listened for, it has no English sound: {', '.join(words)}", err=True)
