"""What was found out about one part of this machine, and what follows for a session.

Rule of this file: values and their meaning; nothing is tried here.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from enum import StrEnum
from typing import Any

Measured = float | int | str | None


class Part(StrEnum):
    """What a finding is about."""

    MICROPHONE = "microphone"
    LOUDSPEAKER = "loudspeaker"
    EAR = "ear"
    VOICE = "voice"
    LOGBOOK = "logbook"
    CLIPS = "clips"


class Need(StrEnum):
    """What somebody may ask to be there."""

    MICROPHONE = "microphone"
    LOUDSPEAKER = "loudspeaker"
    VOICE = "voice"
    VOSK = "vosk"


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing that was tried.

    Fields:
        part: what it is
        name: its own name
        use: the words of the command line that choose it ("" if there are none)
        works: it was tried and did what it should
        says: how it went, a sentence for people
        get: the exact line that installs what is missing ("" if no line helps)
        measured: figures, by name; seconds, Hz, dBFS
    """

    part: Part
    name: str
    use: str
    works: bool
    says: str
    get: str = ""
    measured: Mapping[str, Measured] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Diagnosis:
    """All findings, and the versions of what was used."""

    findings: tuple[Finding, ...]
    versions: Mapping[str, str]

    def of(self, part: Part) -> tuple[Finding, ...]:
        """The findings about one part."""
        return tuple(finding for finding in self.findings if finding.part is part)

    def has(self, need: Need) -> bool:
        """Whether what a session would take without further words is there and works.

        For a microphone or loudspeaker that is the system's own choice; for
        voice any of them; for vosk the library with a model.
        """
        if need is Need.VOSK:
            return any(f.works for f in self.of(Part.EAR) if f.name.startswith(Need.VOSK))
        found = self.of(Part(need))
        if need is Need.VOICE:
            return any(finding.works for finding in found)
        return any(finding.works and finding.use == need for finding in found)

    @property
    def can_hold_session(self) -> bool:
        """Whether an ear understands words and the logbook can be written.

        Speech needs no voice to be shown, and answers may come from a recording
        or the keys, so neither loudspeaker nor microphone decides.
        """
        hears = any(f.works and f.name != "keys" for f in self.of(Part.EAR))
        return hears and all(f.works for f in self.of(Part.LOGBOOK))

    def as_json(self) -> dict[str, Any]:
        """One object: session, has, findings, versions."""
        return {
            "session": self.can_hold_session,
            "has": {need.value: self.has(need) for need in Need},
            "findings": [asdict(finding) for finding in self.findings],
            "versions": dict(self.versions),
        }
