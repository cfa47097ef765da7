"""Average the weights of several runs that began from the same ones.

Rule of this file: files of weights in, one file out; the shares are given.

    python -m models.training.blend OUT.pt SHARE=FILE.pt SHARE=FILE.pt ...

Runs that go on from one set of weights with other sound, seeds and settings
end close enough for their mean to be a network, too, and one that fits no
run's accidents ("model soups", Wortsman et al. 2022, from memory).
"""

from __future__ import annotations

import sys
from pathlib import Path

import torch
from torch import Tensor


def blend(parts: list[tuple[float, dict[str, Tensor]]]) -> dict[str, Tensor]:
    """The weighted mean of weights of one shape; the shares are made to sum to 1."""
    whole = sum(share for share, _ in parts)
    return {
        name: torch.stack([share / whole * held[name] for share, held in parts]).sum(0)
        for name in parts[0][1]
    }


def main() -> None:
    """Read, average, write."""
    given = [part.split("=", 1) for part in sys.argv[2:]]
    parts = [(float(share), torch.load(Path(file), map_location="cpu")) for share, file in given]
    torch.save(blend(parts), Path(sys.argv[1]))


if __name__ == "__main__":
    main()
