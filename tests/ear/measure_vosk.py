"""What the Vosk ear accepts and refuses with the Korean model, by where EVEN stands.

Run:  python tests/ear/measure_vosk.py

Sixteen phrases that count and fifteen things that do not, each by five of
eSpeak NG's Korean voices in the noise of a room. Measured, in per cent of what
was said, at certainty 0.5 / 0.7:

    EVEN         phrases right    phrases mistaken   other speech taken for one
    no check       43 / 40            17 / 11                 31 / 25
    8              30 / 22             5 /  2                 10 /  7
    10             33 / 26             8 /  3                 13 /  7
    15             39 / 32            12 /  7                 18 / 12

The voice is hard for the model: no more than 43 of 100 phrases are understood.
What counts here is what the check takes away from either side. It says nothing
about a person with a headset or about another model.
"""

from __future__ import annotations

import json

import numpy as np
import soxr
from ear_clips import RATE, in_room
from ear_signals import korean_model

from callout.audio_block import Samples
from callout.ear.vosk_ear import SLOPE, VoskDecoder, _least
from callout.voice.espeak_voice import EspeakVoice

PHRASES = (
    *("예", "아니오", "확인", "시작", "정지", "다시", "닫힘", "열림"),
    *("완료", "연료", "배터리", "하나", "둘", "셋", "도움말", "중지"),
)
OTHERS = (
    *("바나나", "고맙습니다", "오늘 날씨가 좋아요", "자동차", "비행기"),
    *("여러분 안녕하세요", "사랑", "학교", "문제", "전화", "우리 집에 가자"),
    *("커피 한 잔 주세요", "나무", "내일 만나요", "사과"),
)
VOICES = (("ko", 140), ("ko+f2", 140), ("ko+m3", 120), ("ko+f4", 150), ("ko+m7", 130))
EVENS = (None, 8.0, 10.0, 12.0, 15.0, 20.0)
LISTED = json.dumps(PHRASES, ensure_ascii=False)


def spoken(text: str, voice: str, pace: int) -> Samples:
    block = EspeakVoice(voice, pace).synthesise(text)
    sound = soxr.resample(block.samples, block.rate, RATE)
    return in_room((sound / np.abs(sound).max()).astype(np.float32))[RATE * 4 // 5 : -RATE]


def weigh(decoder: VoskDecoder, sound: Samples) -> tuple[str, float, float]:
    """Return the words, their least confidence, and how far they lie behind free speech."""
    pcm = (np.clip(sound, -1, 1) * 32767).astype("<i2").tobytes()
    words = [word for part in decoder._heard(pcm, LISTED) for word in part.get("result", ())]
    text = " ".join(word["word"] for word in words)
    if text not in PHRASES:
        return text, 0.0, 0.0
    return text, _least(words), decoder._score(pcm, None) - decoder._score(pcm, LISTED)


def main() -> None:
    decoder = VoskDecoder(korean_model())
    rows = [
        (said, *weigh(decoder, spoken(said, voice, pace)))
        for said in (*PHRASES, *OTHERS)
        for voice, pace in VOICES
    ]
    inside = [row for row in rows if row[0] in PHRASES]
    outside = [row for row in rows if row[0] not in PHRASES]
    for even in EVENS:
        for least in (0.5, 0.7):
            sure = [(*row, certain(row[2], row[3], even) >= least) for row in rows]
            right = sum(row[4] for row in sure if row[0] == row[1])
            mistaken = sum(row[4] for row in sure if row[0] in PHRASES and row[0] != row[1])
            taken = sum(row[4] for row in sure if row[0] not in PHRASES)
            print(
                f"EVEN {even}, at {least}: right {right / len(inside):.0%}, mistaken "
                f"{mistaken / len(inside):.0%}, others taken {taken / len(outside):.0%}"
            )


def certain(confidence: float, behind: float, even: float | None) -> float:
    if even is None:
        return confidence
    return confidence / (1.0 + float(np.exp((behind - even) / SLOPE)))


if __name__ == "__main__":
    main()
