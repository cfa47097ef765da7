"""How long a search by chance goes on.

Rule of this file: `make test` tries few examples, the same in every run; CALLOUT_EXAMPLES=10
by hand draws them anew (conftest.py) and tries ten times as many, which the slowest searches
are worth before a release.
"""

from __future__ import annotations

import os

_TIMES = float(os.environ.get("CALLOUT_EXAMPLES", "1"))


def examples(few: int) -> int:
    """So many of Hypothesis's examples, or as many more as were asked for."""
    return max(1, round(few * _TIMES))
