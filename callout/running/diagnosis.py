"""What this machine has for a session: devices, ears, voices, logbook; and what it lacks.

Rule of this file: everything is really tried, through a Probe, and each finding
is a sentence for people; printing is somebody else's.
"""

from __future__ import annotations

import importlib.util
from collections.abc import Callable, Collection, Iterable, Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from itertools import chain
from pathlib import Path

from callout.ear.choose import EARS
from callout.ear.models import PUBLISHED, fault, installed, models_folder
from callout.running import surroundings
from callout.running.findings import Diagnosis, Finding, Part
from callout.running.install_lines import (
    PORTAUDIO,
    SOUND_SERVER,
    SYSTEM_VOICE,
    pip_line,
    system_line,
)
from callout.running.trying import Probe, Told
from callout.voice.choose import VOICES

EVERYTHING = tuple(Part)

_VOICE_PACKAGES = {"hibari": "hibari-tts", "espeak": "espeakng-loader", "system": "pyttsx3"}
_VOICE_MODULES = {"hibari": "hibari", "espeak": "espeakng_loader", "system": "pyttsx3"}
_EAR_MODULES = {"vosk": "vosk", "pocketsphinx": "pocketsphinx", "built-in": "onnxruntime"}


def diagnose(
    logbook: Path,
    clips: Path,
    probe: Probe,
    parts: Collection[Part] = EVERYTHING,
    every_device: bool = True,
) -> Diagnosis:
    """Try the named parts; sound devices and libraries at the same time.

    `logbook` and `clips` are the file and folder a session would use; neither is
    made. Without `every_device` only the system's own choice of device is tried.
    """
    tasks: dict[Part, Callable[[], Iterable[Finding]]] = {
        Part.EAR: lambda: _ears(probe),
        Part.VOICE: lambda: _voices(probe),
        Part.LOGBOOK: lambda: [surroundings.logbook(logbook)],
        Part.CLIPS: lambda: [surroundings.clips(clips)],
    }
    ends = [part for part in (Part.MICROPHONE, Part.LOUDSPEAKER) if part in parts]
    with ThreadPoolExecutor(max_workers=2) as pool:
        sound = pool.submit(lambda: list(_sound(probe, ends, every_device)) if ends else [])
        rest = [list(task()) for part, task in tasks.items() if part in parts]
    return Diagnosis(tuple(chain(sound.result(), *rest)), surroundings.versions())


def _sound(probe: Probe, ends: list[Part], every: bool) -> Iterator[Finding]:
    """The system's own choice first, then every device by name."""
    listed = probe("devices", "")
    for part in ends:
        if "wrong" in listed:
            yield Finding(part, "", part.value, False, str(listed["wrong"]), _sound_line())
            continue
        devices = listed[f"{part.value}s"]
        own = _device(probe, part, {"name": "", "words": ""}, len(devices))
        yield own
        for device in devices if every else ():
            if device["name"] == own.name and device["words"]:  # tried a moment ago
                yield replace(own, use=f"{part.value}:{device['words']}")
            else:
                yield _device(probe, part, device, len(devices))


def _device(probe: Probe, part: Part, device: Told, count: int) -> Finding:
    words, own = str(device["words"]), not device["name"]
    use = part.value if own else f"{part.value}:{words}"
    if not own and not words:
        return Finding(part, device["name"], "", False, "Several devices share its name.")
    told = probe(part.value, words) if count else {"wrong": f"No {part.value} is connected."}
    name = str(told.get("name", device["name"]))
    if "wrong" in told:
        get = system_line(SOUND_SERVER) if surroundings.sound_server_out_of_reach() else ""
        return Finding(part, name, use, False, str(told["wrong"]), get)
    measured = {key: told[key] for key in told if key != "name"}
    if part is Part.LOUDSPEAKER:
        return Finding(part, name, use, True, f"Takes sound at {told['rate']} Hz.", "", measured)
    if told["level"] is None:
        says = "It opens, but gives nothing but noughts: it is muted, or not allowed to be heard."
        return Finding(part, name, use, False, says, "", measured)
    says = f"Gives sound at {told['rate']} Hz, level {told['level']:.0f} dBFS."
    return Finding(part, name, use, True, says, "", measured)


def _sound_line() -> str:
    """The line that brings sound devices into reach."""
    if importlib.util.find_spec("sounddevice") is None:
        return pip_line("sounddevice")
    return system_line(PORTAUDIO)


def _ears(probe: Probe) -> Iterator[Finding]:
    for name in EARS:
        if name == "keys":
            yield Finding(Part.EAR, name, "--ear keys", True, "Typed words always count.")
        elif name == "vosk":
            yield from _vosk(probe)
        else:
            yield _ear(probe, name, f"--ear {name}")


def _ear(probe: Probe, name: str, use: str) -> Finding:
    told = probe("ear", name)
    if "wrong" in told:
        return Finding(Part.EAR, name, use, False, str(told["wrong"]), _ear_line(name))
    says = f"Ready in {told['took']:.1f} s."
    return Finding(Part.EAR, name, use, True, says, "", {"took": told["took"]})


def _ear_line(name: str) -> str:
    package = _EAR_MODULES.get(name.partition(":")[0])
    if package is None or importlib.util.find_spec(package) is not None:
        return ""
    return pip_line(package)


def _vosk(probe: Probe) -> Iterator[Finding]:
    """Vosk by itself if there is no library or no model, else one finding a model."""
    models = installed(models_folder())
    if importlib.util.find_spec("vosk") is None or not models:
        yield _vosk_lacks()
        return
    for model in models:
        use = f"--ear vosk --model {model.name}"
        problem = fault(model)
        if problem:
            yield Finding(Part.EAR, f"vosk:{model.name}", use, False, problem)
        else:
            yield _ear(probe, f"vosk:{model}", use)


def _vosk_lacks() -> Finding:
    if importlib.util.find_spec("vosk") is None:
        says = "The package vosk is not installed."
        return Finding(Part.EAR, "vosk", "--ear vosk", False, says, pip_line("vosk"))
    name = next(iter(PUBLISHED))
    says = f"There is no model in {models_folder()}."
    return Finding(Part.EAR, "vosk", "--ear vosk", False, says, f"callout model fetch {name}")


def _voices(probe: Probe) -> Iterator[Finding]:
    for name in VOICES:
        told = probe("voice", name)
        use = f"--voice {name}"
        if "wrong" in told:
            yield Finding(Part.VOICE, name, use, False, str(told["wrong"]), _voice_line(name))
            continue
        says = f"First word after {told['first']:.1f} s, the next after {told['again']:.2f} s."
        measured = {key: told[key] for key in ("seconds", "first", "again")}
        yield Finding(Part.VOICE, name, use, True, says, "", measured)


def _voice_line(name: str) -> str:
    module, package = _VOICE_MODULES.get(name), _VOICE_PACKAGES.get(name)
    if module is None or package is None:
        return ""
    if importlib.util.find_spec(module) is None:
        return pip_line(package)
    if name == "system":
        return system_line(SYSTEM_VOICE)
    return pip_line(package, again=True)
