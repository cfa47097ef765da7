"""Where the built-in model and the profiles of speakers are kept.

Rule of this file: it looks for folders, it opens nothing.
"""

from __future__ import annotations

import os
import sys
from pathlib import Path

from callout.ear.problems import ModelProblem

VARIABLE = "CALLOUT_EAR"
"""Environment variable that names another folder with ear.onnx and what belongs to it."""


def model_folder() -> Path:
    """Return the folder with ear.onnx.  Raises ModelProblem with one sentence."""
    named = os.environ.get(VARIABLE)
    package = Path(__file__).resolve().parents[2]
    known = [package.parent / "models", Path(sys.prefix) / "share" / "callout" / "ear"]
    for folder in [Path(named)] if named else known:
        if (folder / "ear.onnx").is_file():
            return folder
    where = named or " or ".join(map(str, known))
    raise ModelProblem(f"The built-in ear's model is missing: there is no ear.onnx in {where}.")


def profiles_folder() -> Path:
    """Return the folder of speakers' profiles."""
    import platformdirs

    return Path(platformdirs.user_data_dir("callout", appauthor=False)) / "profiles"
