"""Searches for inputs that break a target: `python tests/fuzz/run_fuzz.py TARGET MINUTES`.

Rule of this file: it knows no target. Atheris (coverage-guided, over libFuzzer) changes
the inputs of the corpus and keeps in out/fuzz/TARGET what reaches new lines of callout.
It stops at the first input that raises, takes 10 s or 2 GB, and writes it there as
`crash-...`, `timeout-...` or `oom-...`. What was mended belongs into tests/fuzz/corpus/TARGET,
which test_fuzz_corpus.py replays.
"""

from __future__ import annotations

import importlib
import sys
from pathlib import Path

HERE = Path(__file__).parent
OUT = HERE.parents[1] / "out" / "fuzz"


def arguments(target: str, minutes: float, most: int) -> list[str]:
    """What libFuzzer is told (llvm.org/docs/LibFuzzer.html)."""
    kept = OUT / target
    kept.mkdir(parents=True, exist_ok=True)
    words = HERE / "words" / f"{target}.dict"
    return [
        sys.argv[0],
        f"-max_total_time={round(60 * minutes)}",
        f"-max_len={most}",
        "-timeout=10",
        "-rss_limit_mb=2048",
        "-print_final_stats=1",
        f"-artifact_prefix={kept}-",
        *([f"-dict={words}"] if words.exists() else []),
        str(kept),
        str(HERE / "corpus" / target),
    ]


def main() -> None:
    """Fuzz one target."""
    import atheris

    target, minutes = sys.argv[1], float(sys.argv[2])
    with atheris.instrument_imports(include=["callout", f"fuzz_{target}"]):
        module = importlib.import_module(f"fuzz_{target}")
    atheris.Setup(arguments(target, minutes, module.MOST), module.one)
    atheris.Fuzz()


if __name__ == "__main__":
    main()
