"""What the tests of clips share: sentences, and a voice that is lost."""

from callout.audio_block import AudioBlock
from callout.voice.protocol import VoiceLost

SENTENCES = ("Battery switch, on.", "Fuel valve, open.", "Six.", "Rotor brake, off.")


class GoneVoice:
    """A voice that is lost, and would sound like another one."""

    name = "gone"

    def __init__(self, identity: str) -> None:
        self.identity = identity

    def synthesise(self, sentence: str) -> AudioBlock:
        raise VoiceLost(f'No voice for "{sentence}"')
