"""The weights of an exported `ear.onnx` as the files that a run of train.py goes on from.

Rule of this file: the inverse of export.py, and checked as such: the weights
found must be all that the network has, but for `middle`, which only training
uses and which the export leaves out. It starts as a copy of `head`.

    python -m models.training.from_onnx models/ear.onnx DIR

writes DIR/model.pt and DIR/average.pt, both alike, and prints how far the
network's log-probabilities are from those of the file.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
import onnx
import torch
from onnx import numpy_helper
from torch import Tensor

from models.training.network import STEP_ROWS, Ear, Shape

HALF = ".half"
"""What export.py adds to the name of an array that it stores as fp16."""


def linear_names(shape: Shape) -> list[str]:
    """The weights of the linear layers in the order in which the network calls them.

    The exporter gives them names of its own and turns them round.
    """
    inside = [
        f"blocks.{place}.{part}.weight"
        for place in range(shape.blocks)
        for part in ("gate", "project")
    ]
    return ["views.weight", "stem.out.weight", *inside, "head.weight"]


def weights(path: Path, shape: Shape) -> dict[str, Tensor]:
    """The state of a network of this shape.

    Raises:
        SystemExit: the file holds other layers than the network
    """
    graph = onnx.load(path).graph
    held = {
        one.name.removesuffix(HALF): torch.tensor(numpy_helper.to_array(one).astype(np.float32))
        for one in graph.initializer
    }
    found = {name[4:]: array for name, array in held.items() if name.startswith("ear.")}
    products = [node.input[1] for node in graph.node if node.op_type == "MatMul"]
    names = linear_names(shape)
    if len(products) != len(names):
        raise SystemExit(
            f"{path} has {len(products)} linear layers where the network of network.py has "
            f"{len(names)}. It was exported from a network of another shape."
        )
    found |= {name: held[call].T for name, call in zip(names, products, strict=True)}
    found |= {f"middle.{part}": found[f"head.{part}"].clone() for part in ("weight", "bias")}
    return found


def difference(ear: Ear, path: Path) -> float:
    """The largest difference of a log-probability between the network and the file."""
    import onnxruntime

    rows = torch.randn(1, 96, STEP_ROWS * 50, generator=torch.Generator().manual_seed(1))
    with torch.no_grad():
        ours, _, state = ear(rows)
    session = onnxruntime.InferenceSession(str(path))
    feed = {"mel": rows.numpy(), "state": np.zeros((1, state.shape[1]), np.float32)}
    return float(np.abs(session.run(None, feed)[0] - ours.numpy()).max())


def main() -> None:
    """Read, check, write."""
    source, target = Path(sys.argv[1]), Path(sys.argv[2])
    ear = Ear(Shape())
    ear.load_state_dict(weights(source, ear.shape))
    ear.eval()
    apart = difference(ear, source)
    print(f"largest difference of a log-probability: {apart:.6f}")
    if apart > 0.01:
        raise SystemExit(f"{source} is not this network: {apart:.3f} apart, at most 0.01 allowed.")
    target.mkdir(parents=True, exist_ok=True)
    for name in ("model.pt", "average.pt"):
        torch.save(ear.state_dict(), target / name)


if __name__ == "__main__":
    main()
