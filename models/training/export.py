"""Write the trained network as `ear.onnx` and `ear.json`.

Rule of this file: weights are stored as fp16 and turned into fp32 when the
model is opened (onnxruntime folds that once), so the sums stay fp32. The
streaming form is checked against the whole form before anything is written.

    python -m models.training.export average.pt DIR
"""

from __future__ import annotations

import json
import sys
from pathlib import Path

import numpy as np
import onnx
import torch
from onnx import TensorProto, helper, numpy_helper
from torch import Tensor, nn

from models.training.network import STEP_ROWS, Ear, Shape
from models.training.pronounce import PHONES

SMALLEST = 256
"""Arrays of fewer numbers stay fp32."""


class Listening(nn.Module):
    """The network as the program calls it."""

    def __init__(self, ear: Ear) -> None:
        super().__init__()
        self.ear = ear

    def forward(self, mel: Tensor, state: Tensor) -> tuple[Tensor, Tensor]:
        """[batch, 96, 4 n] and [batch, S] to log-probabilities [batch, n, 40] and [batch, S]."""
        logp, _, after = self.ear(mel, state)
        return logp, after


def halved(model: onnx.ModelProto) -> onnx.ModelProto:
    """The same model with its big weights stored as fp16 behind a cast."""
    graph = model.graph
    casts = []
    for held in list(graph.initializer):
        array = numpy_helper.to_array(held)
        if array.dtype == np.float32 and array.size >= SMALLEST:
            graph.initializer.remove(held)
            small = numpy_helper.from_array(array.astype(np.float16), f"{held.name}.half")
            graph.initializer.append(small)
            casts.append(helper.make_node("Cast", [small.name], [held.name], to=TensorProto.FLOAT))
    nodes = [*casts, *graph.node]
    del graph.node[:]
    graph.node.extend(nodes)
    onnx.checker.check_model(model)
    return model


def main() -> None:
    """Export, check, write."""
    import onnxruntime

    source, target = Path(sys.argv[1]), Path(sys.argv[2])
    target.mkdir(parents=True, exist_ok=True)
    ear = Ear(Shape())
    ear.load_state_dict(torch.load(source, map_location="cpu"))
    ear.eval()
    rows = torch.randn(1, 96, STEP_ROWS * 50)
    with torch.no_grad():
        whole, _, state = ear(rows)
    size = state.shape[1]
    torch.onnx.export(
        Listening(ear),
        (rows[:, :, : STEP_ROWS * 5], torch.zeros(1, size)),
        str(target / "ear.onnx"),
        input_names=["mel", "state"],
        output_names=["logp", "state_out"],
        opset_version=16,
        dynamo=False,
        dynamic_axes={
            "mel": {0: "batch", 2: "rows"},
            "state": {0: "batch"},
            "logp": {0: "batch", 1: "steps"},
            "state_out": {0: "batch"},
        },
    )
    onnx.save(halved(onnx.load(target / "ear.onnx")), target / "ear.onnx")
    session = onnxruntime.InferenceSession(str(target / "ear.onnx"))
    out, after = [], np.zeros((1, size), np.float32)
    for at in range(0, 50, 5):
        part = rows[:, :, at * STEP_ROWS : (at + 5) * STEP_ROWS].numpy()
        logp, after = session.run(None, {"mel": part, "state": after})
        out.append(logp)
    worst = float(np.abs(np.concatenate(out, 1) - whole.numpy()).max())
    print(f"largest difference of a log-probability from the fp32 network: {worst:.4f}")
    about = {
        "outputs": ["", *PHONES],
        "look_ahead": ear.shape.look_ahead,
        "state_size": size,
        "step_seconds": 0.04,
    }
    (target / "ear.json").write_text(json.dumps(about, indent=1) + "\n", encoding="utf-8")
    print({p.name: p.stat().st_size for p in target.iterdir()})


if __name__ == "__main__":
    main()
