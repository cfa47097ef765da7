"""The built-in ear with its own model, on people it was not trained on (recordings/README.md).

Bounds are far below what was measured, so that they fail when something breaks
and not when a figure moves; the figures themselves stand in the model's card.
"""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner

from callout.audio_block import AudioBlock
from callout.benches.false_accepts import false_accepts
from callout.checklist.load import load
from callout.cli.bench import command
from callout.ear.built_in.ear import BuiltInEar, open_built_in
from callout.ear.built_in.place import model_folder
from callout.ear.built_in.similar import Confusions, apart, too_similar
from callout.ear.choose import make_ear
from callout.engine.events import Heard
from callout.running.alike import alike
from callout.running.asked import Kind
from callout.running.recording_sets import mixed, pad, read_set
from callout.words.phrases import Grammar, Phrase

RECORDINGS = Path(__file__).parent / "recordings"
ROOT = Path(__file__).parents[2]
TEN = ("yes", "no", "up", "down", "left", "right", "on", "off", "stop", "go")


@pytest.fixture(scope="module")
def ear() -> BuiltInEar:
    return open_built_in()


def bench(*words: str) -> list[dict]:
    result = CliRunner().invoke(command, [*words, "--json"])
    assert result.exit_code == 0, result.output
    return [json.loads(line) for line in result.stdout.splitlines() if line.startswith("{")]


def test_ten_words_in_helicopter_noise_and_better_than_pocketsphinx() -> None:
    """Real people, clean and at 5 dB: most are understood, in noise more than by the reference.

    Both ears at every level: `callout bench hearing`, and `callout bench all` beside it.
    """
    sets = ("--speech", str(RECORDINGS / "words.json"), "--noise", str(RECORDINGS / "noise.json"))
    rows = bench("hearing", "--ear", "built-in", "--snr", "clean,5", *sets)
    rows += bench("hearing", "--ear", "pocketsphinx", "--snr", "5", *sets)
    right = {(row["ear"], row["snr"]): row["correct"] for row in rows}

    assert {row["n"] for row in rows} == {40}
    assert right["built-in", "clean"] >= 32
    assert right["built-in", 5.0] >= 28
    assert right["built-in", 5.0] > right["pocketsphinx", 5.0]


def test_talk_and_noise_tick_no_killer_item(ear: BuiltInEar) -> None:
    """Read sentences and rotor noise, at every kind of item of the example."""
    talk, noise = read_set(RECORDINGS / "talk.json"), read_set(RECORDINGS / "noise.json")
    aircraft = load(ROOT / "checklists" / "reedlark.yaml")

    counts = {row.kind: row.count for row in false_accepts(ear, aircraft, talk, noise, (10.0,))}

    assert counts[Kind.KILLER] == 0
    assert counts[Kind.ORDINARY] <= 1
    assert counts[Kind.VALUE] <= 1


def test_the_first_word_after_a_long_silence_is_heard_like_the_next(ear: BuiltInEar) -> None:
    """Fifteen seconds of hangar noise do not spoil the first word."""
    ear.listen_for(Grammar(1, tuple(Phrase(word, word, 0.0) for word in TEN)))
    clips = read_set(RECORDINGS / "words.json")[:20]
    noise = read_set(RECORDINGS / "noise.json")
    right = {0.5: 0, 15.0: 0}
    at = 0.0
    for before in right:
        for clip in clips:
            sound = mixed(pad(clip, before, 1.0), noise, 15.0)
            at += 60.0
            events = ear.hear(AudioBlock(sound, 16_000, at))
            right[before] += any(isinstance(e, Heard) and e.text == clip.text for e in events)

    assert right[15.0] >= right[0.5] - 2


def test_any_blocks_give_the_same_words(ear: BuiltInEar) -> None:
    """Cut into 20 ms or all at once, a recording is understood the same way."""
    ear.listen_for(Grammar(1, tuple(Phrase(word, word) for word in TEN)))
    clips = [pad(clip, 0.4, 1.0) for clip in read_set(RECORDINGS / "words.json")[:6]]
    sound = np.concatenate([mixed(clip, [], None) for clip in clips])

    whole = list(ear.hear(AudioBlock(sound, 16_000, 100.0))) + list(ear.finish())
    parts = []
    for begin in range(0, len(sound), 320):
        block = AudioBlock(sound[begin : begin + 320], 16_000, 100.0 + begin / 16_000)
        parts += ear.hear(block)
    parts += ear.finish()

    assert [event.text for event in whole if isinstance(event, Heard)]
    assert [type(event) for event in whole] == [type(event) for event in parts]
    assert [e.text for e in whole if isinstance(e, Heard)] == [
        e.text for e in parts if isinstance(e, Heard)
    ]


@pytest.fixture(scope="module")
def confusions() -> Confusions:
    return Confusions.read(model_folder() / "confusions.json")


@pytest.mark.parametrize(
    ("near", "far"),
    [
        (("fifteen", "fifty"), ("fifteen", "sixty")),  # trap pairs of group form
        (("free", "three"), ("free", "seven")),
        (("go", "no"), ("go", "stop")),  # what the first models mistook
        (("on", "off"), ("on", "closed")),
        (("set", "said"), ("set", "checked")),
    ],
)
def test_pairs_that_people_mistake_are_nearer_than_others(
    confusions: Confusions, near: tuple[str, str], far: tuple[str, str]
) -> None:
    """Distance follows what is mistaken."""
    assert apart(*near, confusions) < apart(*far, confusions)


def test_an_author_is_told_of_answers_that_sound_alike(confusions: Confusions) -> None:
    """ "dry" beside "try" in one set is found, "open" beside "closed" is not."""
    texts = ("dry", "try", "open", "closed", "say again")
    grammar = Grammar(1, tuple(Phrase(text, text) for text in texts))

    assert [(p.one, p.other) for p in too_similar(grammar, confusions)] == [("dry", "try")]


def test_spellings_of_one_meaning_are_not_told(confusions: Confusions) -> None:
    """Two forms of the same answer may sound as alike as they like."""
    grammar = Grammar(1, (Phrase("stand by", "hold"), Phrase("standby", "hold")))

    assert too_similar(grammar, confusions) == ()


def test_the_example_lists_are_read_for_pairs_in_time(confusions: Confusions) -> None:
    """A whole flying day is looked through, and what is told is a sentence with both texts."""
    found = list(alike(load(ROOT / "checklists" / "reedlark.yaml"), confusions))

    assert all(one.pair.one in one.sentence() and one.pair.other in one.sentence() for one in found)


def test_the_ear_is_made_by_its_name() -> None:
    """`--ear built-in` needs no download and no path."""
    assert make_ear("built-in").name == "built-in"
