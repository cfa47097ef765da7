"""Order: what was not written down was not said; and a logbook that fails stops nothing."""

from __future__ import annotations

import sqlite3
import subprocess
import sys
from contextlib import closing
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from callout.audio_block import AudioBlock
from callout.checklist.load import load
from callout.engine.effects import Priority, Say, ToneKind
from callout.engine.events import Heard, SessionOpened
from callout.engine.session import Session
from callout.logbook.clip_sound import Piece
from callout.logbook.store import Logbook
from callout.running.clock import RecordingClock
from callout.running.conductor import Conductor, Written
from callout.running.keeping import Keeper
from callout.running.kept import Kept
from callout.running.mouth import Mouth
from callout.voice.protocol import VoiceLost

EXAMPLE = Path(__file__).parents[2] / "checklists" / "reedlark.yaml"


@dataclass
class Words:
    """A voice that takes a second for each sentence; fails from the n-th on if told so."""

    fails_from: int = 1000
    made: list[str] = field(default_factory=list)

    def sentence(self, text: str) -> AudioBlock:
        self.made.append(text)
        if len(self.made) >= self.fails_from:
            raise VoiceLost("The voice stopped working.")
        return AudioBlock(np.zeros(8000, np.float32), 8000)

    def tone(self, kind: ToneKind) -> AudioBlock:
        return AudioBlock(np.zeros(400, np.float32), 8000)


@dataclass
class Heap:
    """An output that keeps what was done to it, and looks into the logbook while it is done."""

    logbook: Path | None = None
    done: list[tuple[str, float]] = field(default_factory=list)
    entries_when_started: list[int] = field(default_factory=list)

    def start(self, clip: AudioBlock, at: float, now: float) -> None:
        self.done.append(("start", at))
        if self.logbook is not None:
            with closing(sqlite3.connect(f"file:{self.logbook}?mode=ro", uri=True)) as base:
                count = base.execute("SELECT count(*) FROM entries").fetchone()[0]
            self.entries_when_started.append(count)

    def cut(self, at: float) -> None:
        self.done.append(("cut", at))

    def close(self, at: float) -> None:
        self.done.append(("close", at))


class Lines:
    def __init__(self) -> None:
        self.lines: list[tuple[str, str]] = []

    def line(self, now: float, who: str, text: str) -> None:
        self.lines.append((who, text))


def test_an_event_is_in_the_logbook_before_anything_of_it_sounds(tmp_path: Path):
    """Another connection sees the committed entries at the moment each sentence starts."""
    path = tmp_path / "log.db"
    clock, heap = RecordingClock(), Heap(path)
    with Logbook.open(path) as logbook:
        number = logbook.begin("rig", "1", "rig.yaml", "0", clock.stamp(0.0))
        conductor = Conductor(
            Session(load(EXAMPLE)),
            Written(logbook, number),
            clock,
            Mouth(Words(), heap, lambda why: None),
            lambda grammar: None,
            Lines(),
        )
        conductor.handle(SessionOpened(("walk-round",)))
        clock.move(30.0)
        while conductor.pass_time():
            pass
        grammar = conductor.session.state.grammar.serial
        conductor.handle(Heard("closed", 1.0, grammar, 29.0, 29.5, "test"))
        written = len(list(logbook.entries(number)))

    assert heap.entries_when_started[0] >= 3
    assert written == heap.entries_when_started[-1]
    assert sorted(heap.entries_when_started) == heap.entries_when_started


def test_a_logbook_that_cannot_be_written_is_told_and_the_list_goes_on(tmp_path: Path):
    """The file may not grow past a limit of the system: as a full disk does."""
    program = tmp_path / "limited.py"
    program.write_text(
        "import resource, sys\n"
        "from callout.cli.main import main\n"
        "import callout.running.assembly\n"
        "resource.setrlimit(resource.RLIMIT_FSIZE, (400_000, resource.RLIM_INFINITY))\n"
        "main(sys.argv[1:])\n",
        encoding="utf-8",
    )
    answers = "closed\nisolated\ncharged\nremoved\n" + "say again\n" * 300 + "open\nlocked\n"
    done = subprocess.run(
        [
            *(sys.executable, str(program), "run", str(EXAMPLE), "walk-round", "--ear", "keys"),
            *("--speak", "none", "--logbook", str(tmp_path / "log.db")),
        ],
        input=answers,
        capture_output=True,
        text=True,
        timeout=240,
        check=False,
    )

    assert "Logbook lost." in done.stdout
    assert done.stdout.index("Logbook lost.") < done.stdout.index("Fuel sample?")
    assert "Traceback" not in done.stderr


def test_a_warning_cuts_what_is_said_and_that_is_said_again_from_its_beginning():
    """CS-25 AMC and MIL-STD-411F 5.3.6, as quoted: one at a time, a voice warning starts anew."""
    heap, words = Heap(), Words()
    mouth = Mouth(words, heap, lambda why: None)
    mouth.say(Say(1, "Fuel lever?", Priority.PROCEDURE), 0.0)
    mouth.say(Say(2, "Warning.", Priority.WARNING), 0.4)

    assert [("start", 0.0), ("cut", 0.4), ("start", 0.4)] == heap.done
    assert 2 == mouth.over(1.4)
    assert ["Fuel lever?", "Warning.", "Fuel lever?"] == words.made
    assert 1 == mouth.over(10.0)


def test_the_warning_tone_sounds_before_its_sentence_even_while_something_is_said():
    """14 CFR 25.1322 and MIL-STD-1472 (from memory): tone, then words, whatever is going on."""
    heap, words = Heap(), Words()
    mouth = Mouth(words, heap, lambda why: None)
    mouth.say(Say(1, "Fuel lever?", Priority.PROCEDURE), 0.0)
    mouth.tone(ToneKind.WARNING, 0.4)
    mouth.say(Say(2, "Warning.", Priority.WARNING), 0.4)
    mouth.tone(ToneKind.WARNING, 0.6)

    assert [("start", 0.0), ("cut", 0.4), ("start", 0.4), ("start", 0.45)] == heap.done
    assert [2, 1] == [mouth.over(2.0), mouth.over(10.0)]


def test_stop_drops_what_waits_but_no_warning():
    words = Words()
    mouth = Mouth(words, Heap(), lambda why: None)
    mouth.say(Say(1, "One.", Priority.WARNING), 0.0)
    mouth.say(Say(2, "Two.", Priority.WARNING), 0.0)
    mouth.say(Say(3, "Three.", Priority.PROCEDURE), 0.0)
    mouth.stop(0.1)

    assert [1, 2, None] == [mouth.over(5.0), mouth.over(10.0), mouth.over(20.0)]


def test_a_voice_that_fails_is_told_once_and_sentences_take_the_time_of_reading():
    told: list[str] = []
    mouth = Mouth(Words(fails_from=2), Heap(), told.append)
    mouth.say(Say(1, "One two three.", Priority.PROCEDURE), 0.0)
    assert 1.0 == mouth.ends_at
    assert 1 == mouth.over(1.0)
    mouth.say(Say(2, "One two three.", Priority.PROCEDURE), 2.0)

    assert ["The voice stopped working."] == told
    assert mouth.ends_at is not None
    assert mouth.ends_at > 2.0
    assert not mouth.has_voice


class Ticking(RecordingClock):
    """A real clock in small: a millisecond goes by whenever anybody looks at it."""

    def now(self) -> float:
        self.move(super().now() + 0.001)
        return super().now()


def conductor_of(clock: RecordingClock, written: Written, words: Words) -> Conductor:
    mouth = Mouth(words, Heap(), lambda why: None)
    return Conductor(Session(load(EXAMPLE)), written, clock, mouth, lambda grammar: None, Lines())


def test_a_replay_of_the_log_gives_the_same_state_to_the_last_digit(tmp_path: Path):
    """Each event is written down with the very time that the session was given."""
    clock = Ticking()
    with Logbook.open(tmp_path / "log.db") as logbook:
        number = logbook.begin("rig", "1", "rig.yaml", "0", clock.stamp(0.0))
        conductor = conductor_of(clock, Written(logbook, number), Words())
        conductor.handle(SessionOpened(("walk-round",)))
        for _ in range(40):
            clock.move(RecordingClock.now(clock) + 2.5)
            conductor.pass_time()
        again = Session(load(EXAMPLE))
        for at, event in logbook.events(number):
            again.handle(event, at)

    assert conductor.session.state == again.state


def test_that_the_logbook_is_lost_is_said_after_what_the_event_itself_cuts(tmp_path: Path):
    """An answer cuts what is being said; the news of the logbook must not be among it."""
    clock = RecordingClock()
    logbook = Logbook.open(tmp_path / "log.db")
    number = logbook.begin("rig", "1", "rig.yaml", "0", clock.stamp(0.0))
    words = Words()
    conductor = conductor_of(clock, Written(logbook, number), words)
    conductor.handle(SessionOpened(("walk-round",)))
    logbook.finish(number, "ended", clock.stamp(1.0))  # from now on it takes no event
    clock.move(30.0)
    grammar = conductor.session.state.grammar.serial
    conductor.handle(Heard("closed", 1.0, grammar, 29.0, 29.5, "test"))
    while (end := conductor.mouth.ends_at) is not None:
        clock.move(end)
        conductor.pass_time()

    logbook.close()

    assert "Logbook lost. Nothing is recorded from now on." in words.made


def test_recordings_that_cannot_be_written_lose_the_logbook_and_nothing_else(tmp_path: Path):
    """Their table is gone from the file, as of one that is damaged: the list goes on."""
    path = tmp_path / "log.db"
    clock, keeper, words = RecordingClock(), Keeper(), Words()
    with Logbook.open(path) as logbook:
        number = logbook.begin("rig", "1", "rig.yaml", "0", clock.stamp(0.0))
        kept = Kept(keeper, logbook, number, clock)
        conductor = conductor_of(clock, Written(logbook, number), words)
        conductor.kept = kept
        kept.begin_session(0.0)
        conductor.handle(SessionOpened(("walk-round",)))
        with closing(sqlite3.connect(path)) as other, other:
            other.execute("DROP TABLE clips")
        clock.move(30.0)
        grammar = conductor.session.state.grammar.serial
        conductor.handle(Heard("squawk", 1.0, grammar, 29.0, 29.5, "test"))
        for n in range(200):
            keeper.hear(AudioBlock(np.zeros(1600, np.float32), 16_000, 30.0 + n / 10))
        conductor.keep(rest=True)
        while (end := conductor.mouth.ends_at) is not None:
            clock.move(max(end, clock.now()))
            conductor.pass_time()

        assert "Logbook lost. Nothing is recorded from now on." in words.made
        keeper.hear(AudioBlock(np.zeros(16_000, np.float32), 16_000, 55.0))
        assert {} == keeper.ready(60.0, rest=True)
        grammar = conductor.session.state.grammar.serial
        conductor.handle(Heard("end squawk", 1.0, grammar, clock.now(), clock.now(), "test"))
        conductor.handle(Heard("squawk", 1.0, conductor.session.state.grammar.serial,
                               clock.now(), clock.now(), "test"))  # fmt: skip
        keeper.hear(AudioBlock(np.zeros(16_000, np.float32), 16_000, clock.now() + 5.0))
        assert {} == keeper.ready(90.0, rest=True)


def test_an_encoder_that_fails_is_told_once_and_ends_nothing(tmp_path: Path, monkeypatch):
    def broken(form: str, block: AudioBlock) -> Piece:
        raise RuntimeError("no such format")

    monkeypatch.setattr("callout.running.keeping.piece", broken)
    clock, keeper, words = RecordingClock(), Keeper(), Words()
    with Logbook.open(tmp_path / "log.db") as logbook:
        number = logbook.begin("rig", "1", "rig.yaml", "0", clock.stamp(0.0))
        conductor = conductor_of(clock, Written(logbook, number), words)
        conductor.kept = Kept(keeper, logbook, number, clock)
        conductor.handle(SessionOpened(("walk-round",)))
        for form in ("flac", "opus"):
            keeper.begin(form, 0.0, form)
            for n in range(200):
                keeper.hear(AudioBlock(np.zeros(1600, np.float32), 16_000, n / 10))
            conductor.keep(rest=True)
            keeper.forget_all()
        facts = [fact.fact for _, fact in logbook.facts(number)]
    keeper.close()
    while (end := conductor.mouth.ends_at) is not None:
        clock.move(max(end, clock.now()))
        conductor.mouth.over(clock.now())

    assert 1 == facts.count("lost")
    assert "Recording failed. Write squawks down." in words.made
