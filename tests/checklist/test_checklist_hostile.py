"""Files made to do harm: a clear error, exit status 2, in bounded time and memory.

Each goes through the program in a process of its own with a limit on its memory and its
time. The processes are forked from one that has read the program already, which else takes
most of their time.
"""

from __future__ import annotations

import os
import random
import subprocess
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest
from checklist_files import HEAD

MEMORY = 800 * 1024 * 1024
"""Bytes of address space; Python with its libraries takes most of it."""
FORKING = """
import os, sys
from callout.checklist import load
from callout.cli import check
from callout.cli.main import main
from callout.running import alike
from callout.trainer import load
for line in sys.stdin.buffer:
    if not (child := os.fork()):
        place, *words = line[:-1].split(b"\\0")
        for number, name in ((0, os.devnull), (1, place + b"/out"), (2, place + b"/err")):
            os.dup2(os.open(name, os.O_RDWR | os.O_CREAT), number)
        import resource
        resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
        resource.setrlimit(resource.RLIMIT_CPU, (SECONDS, SECONDS))
        sys.argv = ["callout", *map(os.fsdecode, words)]
        main()
    print(os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]), flush=True)
"""
"""The command `callout`, once for each line: a folder and words, with NUL between them."""
SECONDS = 30
"""Of the processor, whatever else the machine does; the commands below take less than one."""


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


@dataclass(frozen=True)
class Result:
    """How a process ended, and what it wrote."""

    returncode: int
    stdout: str
    stderr: str


@pytest.fixture(scope="module")
def forking() -> Iterator[subprocess.Popen[bytes]]:
    limits = f"MEMORY, SECONDS = {MEMORY}, {SECONDS}"
    command = [sys.executable, "-c", limits + FORKING]
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE) as one:
        yield one


@pytest.fixture
def check(forking: subprocess.Popen[bytes], tmp_path: Path) -> Callable[[Path | str], Result]:
    """`callout check` of a file."""
    assert forking.stdin is not None
    assert forking.stdout is not None

    def checked(path: Path | str) -> Result:
        words = (os.fsencode(one) for one in (tmp_path, "check", path))
        forking.stdin.write(b"\0".join(words) + b"\n")
        forking.stdin.flush()
        status = int(forking.stdout.readline())
        wrote = [(tmp_path / name).read_text(encoding="utf-8") for name in ("out", "err")]
        return Result(status, *wrote)

    return checked


@pytest.mark.parametrize(("make", "said"), HOSTILE.values(), ids=HOSTILE)
def test_a_hostile_file_is_refused_in_a_sentence(check, tmp_path, make, said):
    path = tmp_path / "aircraft.yaml"
    made = make()
    path.write_bytes(made.encode() if isinstance(made, str) else made)

    result = check(path)

    assert result.returncode == 2, result.stderr[-2000:]
    assert result.stdout == ""
    assert "Traceback" not in result.stderr
    assert said in result.stderr
    assert len(result.stderr.splitlines()) <= 201


@pytest.mark.parametrize("path", ["/dev/zero", "/", "no-such-file.yaml", "a" * 5000, "", "\udcff"])
def test_what_is_no_file_is_refused_in_a_sentence(check, path):
    result = check(path)

    assert result.returncode == 2, result.stderr[-2000:]
    assert "Traceback" not in result.stderr
    assert "expected an aircraft file" in result.stderr or "cannot be read" in result.stderr
