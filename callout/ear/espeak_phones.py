"""Run as a program: words on standard input, their ARPAbet phones on standard output.

Rule of this file: it is a process of its own. libespeak-ng keeps one state for
the whole process, and the voice may be speaking with it at the same moment.
"""

from __future__ import annotations

import ctypes
import sys
from collections.abc import Iterator

IPA_TO_ARPABET: tuple[tuple[str, str], ...] = (
    ("aɪɚ", "AY ER"),
    ("aɪə", "AY AH"),
    ("tʃ", "CH"),
    ("dʒ", "JH"),
    ("aɪ", "AY"),
    ("aʊ", "AW"),
    ("eɪ", "EY"),
    ("oʊ", "OW"),
    ("ɔɪ", "OY"),
    ("ɔːɹ", "AO R"),
    ("oːɹ", "AO R"),
    ("ɑːɹ", "AA R"),
    ("əl", "AH L"),
    ("iə", "IY AH"),
    ("ɜː", "ER"),
    ("ɚ", "ER"),
    ("iː", "IY"),
    ("uː", "UW"),
    ("ɑː", "AA"),
    ("ɔː", "AO"),
    ("oː", "AO"),
    ("ɛ", "EH"),
    ("æ", "AE"),
    ("ʌ", "AH"),
    ("ə", "AH"),
    ("ɐ", "AH"),
    ("ɪ", "IH"),
    ("ᵻ", "IH"),
    ("i", "IY"),
    ("ʊ", "UH"),
    ("u", "UW"),
    ("ɑ", "AA"),
    ("a", "AE"),
    ("ɔ", "AO"),
    ("o", "OW"),
    ("e", "EY"),
    ("ŋ", "NG"),
    ("θ", "TH"),
    ("ð", "DH"),
    ("ʃ", "SH"),
    ("ʒ", "ZH"),
    ("j", "Y"),
    ("ɹ", "R"),
    ("r", "R"),
    ("ɾ", "T"),
    ("ʔ", "T"),
    ("x", "K"),
    ("ɬ", "L"),
    ("n̩", "AH N"),
    ("l̩", "AH L"),
    ("ɡ", "G"),
    *((letter, letter.upper()) for letter in "bdfklmnpstvwzg"),
    ("h", "HH"),
)
"""espeak-ng's American IPA to the 39 phones of the CMU dictionary, longest first.

The phone set is that of the CMU Pronouncing Dictionary; espeak-ng's symbols are
those its `en-us` voice gives (espeak-ng docs/phonemes.md, from memory).
"""

_SILENT = "ˈˌː_‍ "
_SYNCHRONOUS = 2
_UTF8 = 1
_IPA = 2


def to_arpabet(ipa: str) -> list[str]:
    """Return the phones of an IPA word; ValueError for a symbol that English lacks."""
    return [phone for phones in _pieces(ipa) for phone in phones.split()]


def _pieces(ipa: str) -> Iterator[str]:
    ipa = "".join(sign for sign in ipa if sign not in "ˈˌ_‍ ")
    while ipa:
        for symbol, phones in IPA_TO_ARPABET:
            if ipa.startswith(symbol):
                yield phones
                ipa = ipa[len(symbol) :]
                break
        else:
            if ipa[0] not in _SILENT:
                raise ValueError(f"no English phone for {ipa[0]!r}")
            ipa = ipa[1:]


def _library() -> ctypes.CDLL:
    import espeakng_loader

    library = ctypes.CDLL(espeakng_loader.get_library_path())
    library.espeak_TextToPhonemes.restype = ctypes.c_char_p
    data = espeakng_loader.get_data_path().encode()
    if library.espeak_Initialize(_SYNCHRONOUS, 0, data, 0) < 0:
        raise OSError("espeak-ng does not start")
    if library.espeak_SetVoiceByName(b"en-us") != 0:
        raise OSError("espeak-ng has no American English")
    return library


def main() -> None:
    """For each line, one word, write "word phone phone ..."; the word alone if it has none."""
    library = _library()
    for line in sys.stdin:
        word = line.strip()
        text = ctypes.c_char_p(word.encode())
        ipa = library.espeak_TextToPhonemes(ctypes.byref(text), _UTF8, _IPA).decode()
        try:
            phones = to_arpabet(ipa)
        except ValueError:
            phones = []
        print(" ".join([word, *phones]))


if __name__ == "__main__":
    main()
