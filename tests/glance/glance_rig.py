"""A running `callout run --glance`, as a user starts it, and a browser to look at it.

Rule of this file: the real program, real sockets, a real browser; nothing is replaced.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import IO

from playwright.sync_api import Browser, Page, Playwright, expect, sync_playwright

REEDLARK = Path(__file__).parents[2] / "checklists" / "reedlark.yaml"
PAIR = re.compile(r"https://\S+/pair#\S+")
CHROMIUM = "/usr/bin/chromium"
expect.set_options(timeout=60_000)

LONG = 60.0
"""Seconds for which something is waited for that surely comes: a busy machine may take long."""

MISSING = "These tests need Debian's browser: sudo apt install chromium"


class Run:
    """The program; its folder is of its own."""

    def __init__(
        self,
        folder: Path,
        *options: str,
        aircraft: Path = REEDLARK,
        environment: Mapping[str, str] | None = None,
    ) -> None:
        self.folder = folder
        self.lines: list[str] = []
        self.errors: list[str] = []
        command = [sys.executable, "-m", "callout", "run", str(aircraft), *options]
        command += ["--glance-at", "127.0.0.1", "--logbook", str(folder / "logbook.db")]
        # A home of its own: the certificate must be neither the user's nor another test's.
        home = {"XDG_DATA_HOME": str(folder / "data")}
        self.process = subprocess.Popen(
            command,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
            env={**os.environ, **home, **(environment or {})},
        )
        self._readers = [
            threading.Thread(target=self._read, args=pair, daemon=True)
            for pair in ((self.process.stdout, self.lines), (self.process.stderr, self.errors))
        ]
        for reader in self._readers:
            reader.start()

    @staticmethod
    def _read(stream: IO[str], into: list[str]) -> None:
        into.extend(line.rstrip("\n") for line in stream)

    def code(self, number: int = 0, timeout: float = LONG) -> str:
        """The address of the code that was told, by its number."""
        return self._until(
            lambda: PAIR.findall("\n".join(self.errors))[number:], f"no code {number}", timeout
        )[0]

    @property
    def port(self) -> int:
        return int(self.code().split(":")[2].split("/")[0])

    def type(self, line: str) -> None:
        assert self.process.stdin is not None
        self.process.stdin.write(f"{line}\n")
        self.process.stdin.flush()

    def wait_for(self, text: str, timeout: float = LONG) -> None:
        self._until(
            lambda: [line for line in self.lines if text in line], f"no line {text!r}", timeout
        )

    def wait_until(self, true, timeout: float = LONG) -> None:
        self._until(true, "it never came true", timeout)

    def _until(self, found, what: str, timeout: float) -> list[str]:
        until = time.monotonic() + timeout
        while True:
            running = self.process.poll() is None
            if not running:
                self._read_to_the_end()
            if seen := found():
                return seen
            told = "\n".join([*self.lines, *self.errors])
            assert running, f"{what}, and it has ended:\n{told}"
            assert time.monotonic() < until, f"{what}:\n{told}"
            time.sleep(0.02)

    def _read_to_the_end(self) -> None:
        for reader in self._readers:
            reader.join(timeout=LONG)

    def close(self) -> None:
        self.process.kill()
        self.process.wait()
        self._read_to_the_end()
        for stream in (self.process.stdin, self.process.stdout, self.process.stderr):
            assert stream is not None
            stream.close()


@contextmanager
def running(*options: str, **more: object) -> Iterator[Run]:
    """The program while the block lasts."""
    folder = Path(tempfile.mkdtemp(prefix="glance-"))
    run = Run(folder, *options, **more)  # type: ignore[arg-type]
    try:
        yield run
    finally:
        run.close()
        shutil.rmtree(folder, ignore_errors=True)


@contextmanager
def browser(*arguments: str, **launched: object) -> Iterator[Browser]:
    """Chromium without a window."""
    assert shutil.which(CHROMIUM), MISSING
    with sync_playwright() as playwright:
        yield opened(playwright, *arguments, **launched)


def opened(playwright: Playwright, *arguments: str, **launched: object) -> Browser:
    return playwright.chromium.launch(
        executable_path=CHROMIUM, args=["--no-sandbox", *arguments], **launched
    )


def page(chromium: Browser, code: str, **context: object) -> Page:
    """A page that was let in by this code; what its console complains of is an error."""
    inside = chromium.new_context(ignore_https_errors=True, **context)
    found = inside.new_page()
    found.set_default_timeout(60_000)
    found.goto(code)
    found.wait_for_url("**/")
    expect(found.locator("#contact")).not_to_have_text("Connecting")
    return found
