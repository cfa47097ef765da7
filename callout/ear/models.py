"""Speech models on this machine: where they are, which there are, what is wrong with one.

Rule of this file: it looks and moves, it fetches nothing (fetch.py does) and
loads nothing. A model is a folder with the name it is called by.
"""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType

from callout.ear.problems import ModelProblem

VARIABLE = "CALLOUT_MODELS"
"""Environment variable that names the folder of models."""


@dataclass(frozen=True, slots=True)
class Published:
    """A model that can be fetched from its publisher.

    Fields:
        name: what it is called here
        url: where its zip archive is
        sha256: of the archive, 64 hexadecimal digits
        about: language, licence
    """

    name: str
    url: str
    sha256: str
    about: str


PUBLISHED: Mapping[str, Published] = MappingProxyType(
    {
        "vosk-small-en-us": Published(
            "vosk-small-en-us",
            "https://alphacephei.com/vosk/models/vosk-model-small-en-us-0.15.zip",
            "30f26242c4eb449f948e42cb302dd7a686cb29a3423a8367f99ff41780942498",
            "American English for Vosk, Apache-2.0",
        ),
    }
)


def models_folder(given: Path | None = None) -> Path:
    """Return the folder of models: given, else CALLOUT_MODELS, else the user's own."""
    if given is not None:
        return given
    named = os.environ.get(VARIABLE)
    if named:
        return Path(named)
    from platformdirs import user_data_path

    return user_data_path("callout", appauthor=False) / "models"


def installed(folder: Path) -> list[Path]:
    """Return the models in a folder, by name; an unfinished one does not count."""
    if not folder.is_dir():
        return []
    return sorted(p for p in folder.iterdir() if p.is_dir() and not p.name.startswith("."))


def fault(model: Path) -> str:
    """Return what keeps a folder from being a Vosk model that takes phrases; "" if nothing does."""
    if not model.exists():
        return f"There is no model at {model}."
    if not model.is_dir():
        return f"{model} is a file; a Vosk model is a folder."
    if not _has(model, "am/final.mdl", "final.mdl"):
        return f"{model} is no Vosk model: it has no am/final.mdl."
    if not _has(model, "conf/mfcc.conf", "mfcc.conf"):
        return f"{model} is no Vosk model: it has no conf/mfcc.conf."
    loose = _has(model, "graph/HCLr.fst", "HCLr.fst") and _has(model, "graph/Gr.fst", "Gr.fst")
    if not loose:
        return (
            f"The Vosk model {model} cannot be told which phrases count: it lacks graph/HCLr.fst "
            "or graph/Gr.fst. The small models have both."
        )
    return ""


def _has(model: Path, *places: str) -> bool:
    return any((model / place).is_file() for place in places)


def vosk_model(wanted: Path | None, folder: Path) -> Path:
    """Return the Vosk model to use: a path, a name in the folder, or the only one there.

    Raises ModelProblem with what is wrong and the line that puts it right.
    """
    if wanted is not None:
        model = wanted if wanted.exists() else folder / wanted
        if not model.exists():
            raise ModelProblem(f"There is no model at {wanted}, and none of that name in {folder}.")
        _refuse(fault(model))
        return model
    usable = [model for model in installed(folder) if not fault(model)]
    if not usable:
        raise ModelProblem(
            f"Vosk needs a model and there is none in {folder}; "
            "get one with: callout model fetch vosk-small-en-us"
        )
    if len(usable) > 1:
        names = ", ".join(model.name for model in usable)
        raise ModelProblem(f"There are several Vosk models, say which one with --model: {names}.")
    return usable[0]


def _refuse(problem: str) -> None:
    if problem:
        raise ModelProblem(problem)


@contextmanager
def workplace(folder: Path) -> Iterator[Path]:
    """Give an empty folder on the same disk that is gone afterwards."""
    folder.mkdir(parents=True, exist_ok=True)
    place = Path(tempfile.mkdtemp(prefix=".incoming-", dir=folder))
    try:
        yield place
    finally:
        shutil.rmtree(place, ignore_errors=True)


def model_in(place: Path) -> Path:
    """Return the model folder in an unpacked archive: the archive's top, or its only folder."""
    inside = [path for path in place.iterdir() if not path.name.startswith((".", "__"))]
    if len(inside) == 1 and inside[0].is_dir():
        return inside[0]
    return place


def install(made: Path, name: str, folder: Path) -> Path:
    """Move a finished model into the folder under its name, all at once.

    Raises ModelProblem if it is no model, or if the name is taken.
    """
    target = folder / _checked_name(name)
    problem = fault(made)
    if problem:
        raise ModelProblem(problem.replace(str(made), name))
    if target.exists():
        raise ModelProblem(f"There is already a model named {name} in {folder}; remove it first.")
    os.replace(made, target)
    return target


def _checked_name(name: str) -> str:
    if not name or name.startswith(".") or any(sign in name for sign in '/\\:*?"<>|\0'):
        raise ModelProblem(f"{name!r} cannot be the name of a model.")
    return name
