"""Files made to do harm: a clear error, exit status 2, in bounded time and memory.

Each goes through the program as a person starts it, in a process of its own
with a limit on its memory and its time.
"""

from __future__ import annotations

import random
import resource
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from checklist_files import HEAD

MEMORY = 800 * 1024 * 1024
"""Bytes of address space; Python with its libraries takes most of it."""
RUN = "from callout.cli.main import main; main()"
"""What the command `callout` does."""
SECONDS = 30
"""Of the processor, whatever else the machine does; the commands below take about one."""
PATIENCE = 240
"""Seconds by the clock, for a machine that is busy with other things."""


def _alias_bomb() -> str:
    """Nine lists, each nine times the one before: 9 ** 9 words, were it unfolded."""
    lines = ["a: &a [x, x, x, x, x, x, x, x, x]"]
    for before, now in zip("abcdefgh", "bcdefghi", strict=True):
        lines.append(f"{now}: &{now} [{', '.join([f'*{before}'] * 9)}]")
    return HEAD + "\n".join(lines)


def _aliases() -> str:
    return HEAD + "a: &a x\nb: [" + "*a, " * 200_000 + "*a]\n"


def _many_items() -> str:
    items = "".join(f"      - {{call: item, anwser: open{n}}}\n" for n in range(3900))
    return f"{HEAD}lists:\n  first:\n    items:\n{items}"


def _ring() -> str:
    names = [a + b + c for a in "abcdefghijk" for b in "abcdefghijk" for c in "abcdefghijk"]
    lists = "".join(
        f"  {name}: {{needs: [{following}], items: [{{say: x}}]}}\n"
        for name, following in zip(names, [*names[1:], names[0]], strict=True)
    )
    return f"{HEAD}lists:\n{lists}"


HOSTILE: dict[str, tuple[Callable[[], str | bytes], str]] = {
    "empty": (lambda: "", "1:1: the file is empty"),
    "binary": (lambda: random.Random(7).randbytes(5000), "this is not UTF-8 text"),
    "every byte": (lambda: bytes(range(256)) * 100, "this is not UTF-8 text"),
    "zeros": (lambda: bytes(100_000), "1:1: an unprintable character (U+0000) stands here"),
    "alias bomb": (_alias_bomb, "7:4: an anchor (&a) stands here"),
    "200,000 aliases": (_aliases, "7:4: an anchor (&a) stands here"),
    "a million aliases": (lambda: _aliases() * 5, "the file is larger than 1000 kB"),
    "10 MB of nesting": (lambda: "[" * 10_000_000, "the file is larger than 1000 kB"),
    "1 MB of brackets": (lambda: "[" * 999_000, "this is nested too deep"),
    "1 MB of braces": (lambda: "{a: " * 240_000, "1:65: nested deeper than 16 levels"),
    "1 MB of dashes": (lambda: "- " * 490_000, "1:33: nested deeper than 16 levels"),
    "1 MB of keys in keys": (lambda: "? " * 490_000, "1:33: nested deeper than 16 levels"),
    "deep indentation": (
        lambda: HEAD + "".join(f"{' ' * n}a:\n" for n in range(1300)),
        "nested deeper than 16 levels",
    ),
    "100 MB": (lambda: b"a" * 100_000_000, "the file is larger than 1000 kB"),
    "one long word": (lambda: HEAD + "lists: " + "a" * 900_000, "8:"),
    "one long key": (lambda: HEAD + "a" * 1000 + ": x", "7:1: unknown key"),
    "100,000 keys": (
        lambda: HEAD + "".join(f"k{n}: x\n" for n in range(80_000)),
        "more than 20000 words in one file",
    ),
    "one key 100,000 times": (lambda: HEAD + "k: x\n" * 100_000, "more problems than 199"),
    "3900 wrong items": (_many_items, "more problems than 199"),
    "a ring of 1331 lists": (
        _ring,
        '"aaa" needs "aab" needs "aac" needs "aad" needs "aae" needs "..." needs "aaa"; expected',
    ),
    "a percent sign alone": (lambda: "%", "1:"),
    "directives": (lambda: "%TAG ! tag:x,2000:\n---\ncallout: 1\n", "no "),
    "half a surrogate": (lambda: b"callout: \xed\xa0\x80", "this is not UTF-8 text"),
    "UTF-16": (lambda: HEAD.encode("utf-16"), "1:1: this is not UTF-8 text"),
    "escapes": (lambda: HEAD + 'lists: "\\U0000D800\\x00"\n', "7:"),
}


def _limits() -> None:
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
    resource.setrlimit(resource.RLIMIT_CPU, (SECONDS, SECONDS))


def _check(path: Path | str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-c", RUN, "check", str(path)],
        capture_output=True,
        text=True,
        timeout=PATIENCE,
        preexec_fn=_limits,
        check=False,
    )


@pytest.mark.parametrize(("make", "said"), HOSTILE.values(), ids=HOSTILE)
def test_a_hostile_file_is_refused_in_a_sentence(tmp_path, make, said):
    path = tmp_path / "aircraft.yaml"
    made = make()
    path.write_bytes(made.encode() if isinstance(made, str) else made)

    result = _check(path)

    assert result.returncode == 2, result.stderr[-2000:]
    assert result.stdout == ""
    assert "Traceback" not in result.stderr
    assert said in result.stderr
    assert len(result.stderr.splitlines()) <= 201


@pytest.mark.parametrize("path", ["/dev/zero", "/", "no-such-file.yaml", "a" * 5000, "", "\udcff"])
def test_what_is_no_file_is_refused_in_a_sentence(path):
    result = _check(path)

    assert result.returncode == 2, result.stderr[-2000:]
    assert "Traceback" not in result.stderr
    assert "expected an aircraft file" in result.stderr or "cannot be read" in result.stderr
