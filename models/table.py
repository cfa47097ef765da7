"""The ear's whole table, measured: every bench of it in one run, printed as Markdown.

Rule of this file: it runs `callout bench ... --json` and sets down what that
says; it measures nothing itself. What was run stands under the table.

    nice python -m models.table --sets FOLDER --aircraft checklists/reedlark.yaml

The sets are those of models.kept_sets, and answers-dev and numbers-dev of models.kept_voices
(which takes minutes to speak them). `--few N` hears at most N recordings for the words and phone
digits.
"""

from __future__ import annotations

import argparse
import json
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

WORDS = ("yes", "no", "up", "down", "left", "right", "on", "off", "stop", "go")
DIGITS = ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
EARS = ("built-in", "pocketsphinx")
CLOSED = {"words-dev": WORDS, "digits-a": DIGITS}


class Table:
    """Runs benches and keeps what they printed."""

    def __init__(self, sets: Path) -> None:
        self.sets = sets
        self.ran: list[str] = []

    def bench(self, *words: str) -> list[dict[str, Any]]:
        """One bench; its objects, one a line of what it printed."""
        self.ran.append("callout bench " + " ".join(words))
        command = [sys.executable, "-m", "callout", "bench", *words, "--json"]
        said = subprocess.run(command, check=True, stdout=subprocess.PIPE, text=True).stdout
        return [json.loads(line) for line in said.splitlines() if line.startswith("{")]

    def set(self, name: str) -> str:
        """Path of a set."""
        return str(self.sets / f"{name}.json")


def share(row: dict[str, Any]) -> str:
    """A share with its interval."""
    low, high = 100 * row["low"], 100 * row["high"]
    return f"{100 * row['correct'] / row['n']:.1f} ({low:.0f} – {high:.0f}) of {row['n']}"


def by_ear(rows: Sequence[dict[str, Any]], name: str) -> Iterator[str]:
    """A line of the table for each condition: the ears beside one another."""
    for snr in dict.fromkeys(row["snr"] for row in rows):
        cells = [share(row) for row in rows if row["snr"] == snr]
        yield f"| {name}, {snr if snr == 'clean' else f'{snr:g} dB'} | {' | '.join(cells)} |"


def recognised(table: Table, few: int, ears: Sequence[str]) -> Iterator[str]:
    """Words, answers, numbers, phone digits."""
    ear = [word for name in ears for word in ("--ear", name)]
    noise = ["--noise", table.set("heli-dev")]
    with tempfile.TemporaryDirectory() as folder:
        for name, texts in CLOSED.items():
            phrases = Path(folder) / f"{name}.txt"
            phrases.write_text("\n".join(texts) + "\n", encoding="utf-8")
            rows = table.bench(
                "hearing", *ear, "--speech", table.set(name), *noise, "--phrases", str(phrases),
                "--snr", "clean,10,5,0", "--most", str(few),
            )  # fmt: skip
            yield from by_ear(rows, f"{len(texts)} words of {name}, closed set")
            for row in rows[: len(ears)]:
                yield f"| compute, {row['ear']} | {100 * row['compute']:.2f} % of one core |"
    for name in ("numbers-dev", "digits-a"):
        speech = ["--speech", table.set(name)]
        rows = table.bench("digits", *ear, *speech, *noise, "--snr", "clean,10")
        yield from by_ear(rows, f"connected numbers, {name}")


def at_items(table: Table, aircraft: Path, ears: Sequence[str], hours: float) -> Iterator[str]:
    """Answers at their items, wrong acceptances, first words, changes of grammar."""
    ear = [word for name in ears for word in ("--ear", name)]
    heli, noise = ["--noise", table.set("heli-dev")], ["--noise", table.set("noise-dev")]
    rows = table.bench(
        "answers", str(aircraft), *ear, "--speech", table.set("answers-dev"), *heli,
        "--snr", "clean,10,0",
    )  # fmt: skip
    yield from by_ear(sorted(rows, key=lambda row: str(row["snr"])), "answers at their items")
    for row in table.bench(
        "false-accepts", "--speech", table.set("talk-dev"), *noise, "--aircraft", str(aircraft),
        "--snr", "10,5,20", "--hours", str(hours),
    ):  # fmt: skip
        yield (
            f"| wrong ticks, {row['kind']} items | {row['count']} in {row['hours']:.2f} h, "
            f"the same talk {row['times']} times with other noise |"
        )
    for row in table.bench(
        "first-word", "--speech", table.set("words-dev"), *heli, "--snr", "10", "--most", "120"
    ):
        yield f"| word {row['word']} after {row['silence']:g} s of noise | {share(row)} |"
    for row in table.bench("grammars", str(aircraft)):
        worst = f"{1000 * row['worst']:.1f} ms (processor {1000 * row['worst_processor']:.1f} ms)"
        yield f"| change of grammar, worst of {row['n']} | {worst} |"


def main() -> None:
    """Run everything and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sets", type=Path, required=True)
    parser.add_argument("--aircraft", type=Path, required=True)
    parser.add_argument("--few", type=int, default=0, help="recordings of each set, 0 for all")
    parser.add_argument("--hours", type=float, default=1.0, help="of talk for each kind of item")
    parser.add_argument("--only-built-in", action="store_true", help="no PocketSphinx beside it")
    asked = parser.parse_args()
    ears = EARS[:1] if asked.only_built_in else EARS
    table = Table(asked.sets)
    began = time.monotonic()
    print(f"| right, % (95 %) | {' | '.join(ears)} |\n|{'---|' * (1 + len(ears))}")
    for line in recognised(table, asked.few, ears):
        print(line, flush=True)
    for line in at_items(table, asked.aircraft, ears, asked.hours):
        print(line, flush=True)
    print(f"\nIn {(time.monotonic() - began) / 60:.0f} minutes, by:\n")
    print("\n".join(f"    {command}" for command in table.ran))


if __name__ == "__main__":
    main()
