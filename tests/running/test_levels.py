"""Octave levels against known sound, and what callout says of a place: `callout doctor levels`.

Sources: IEC 61260-1:2014, base-ten mid-bands and edges (from memory; the exact
mid-band of "4000 Hz" is 3981.07 Hz); pink noise has the same power in every
octave and white noise 3.01 dB more in each one up, by their definitions;
scipy.signal.welch as a second opinion.
"""

from __future__ import annotations

import itertools
import json
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
import scipy.signal
import soundfile
from virtual_sound import HEADSET, MICROPHONE, SoundServer, room

from callout.audio_block import AudioBlock
from callout.running.gain import KNEE, LOUDEST, SOFTEST, louder
from callout.running.levels import ASKED, Whose, advice, measured
from callout.running.octaves import OCTAVES, decibels, octave_powers

CALLOUT = str(Path(sys.executable).parent / "callout")
RATE = 16_000


def white(seconds: float, seed: int = 0, level: float = 0.01) -> np.ndarray:
    return np.random.default_rng(seed).normal(0, level, round(seconds * RATE)).astype(np.float32)


def pink(seconds: float, seed: int = 0, level: float = 0.05) -> np.ndarray:
    """White noise whose spectrum falls by 3 dB an octave."""
    spectrum = np.fft.rfft(np.random.default_rng(seed).normal(0, 1, round(seconds * RATE)))
    bins = np.arange(len(spectrum))
    spectrum = spectrum / np.sqrt(np.maximum(bins, 1))
    sound = np.fft.irfft(spectrum)
    return (sound * level / sound.std()).astype(np.float32)


def sine(hertz: float, seconds: float = 2.0, amplitude: float = 1.0) -> np.ndarray:
    return (amplitude * np.sin(2 * np.pi * hertz * np.arange(round(seconds * RATE)) / RATE)).astype(
        np.float32
    )


def levels_of(sound: np.ndarray) -> list[float]:
    return [decibels(power) for power in octave_powers(sound, RATE)]


def test_bands_have_the_edges_of_the_standard() -> None:
    """IEC 61260-1: G = 10^0.3; the band called 4000 Hz is 3981.07, from 2818.38 to 5623.41 Hz."""
    assert [250, 500, 1000, 2000, 4000] == [octave.nominal for octave in OCTAVES]
    middles = [octave.middle for octave in OCTAVES]
    assert pytest.approx([251.189, 501.187, 1000.0, 1995.262, 3981.072], abs=1e-3) == middles
    assert pytest.approx((2818.383, 5623.413), abs=1e-3) == (OCTAVES[4].low, OCTAVES[4].high)
    for lower, higher in itertools.pairwise(OCTAVES):
        assert pytest.approx(lower.high) == higher.low


def test_a_sine_is_in_its_own_band_and_at_its_own_level() -> None:
    """Amplitude 1 has a mean square of 0.5: -3.01 dB."""
    for place, octave in enumerate(OCTAVES):
        found = levels_of(sine(octave.middle))
        assert pytest.approx(-3.01, abs=0.02) == found[place]
        assert max(level for at, level in enumerate(found) if at != place) < -80


def test_a_sine_on_an_edge_is_shared_by_both_bands() -> None:
    edge = OCTAVES[2].high
    powers = octave_powers(sine(edge), RATE)
    assert pytest.approx(0.5, rel=0.01) == powers[2] + powers[3]
    assert 0.2 < powers[2] / (powers[2] + powers[3]) < 0.8


def test_pink_noise_has_the_same_level_in_every_octave() -> None:
    found = levels_of(pink(20))
    assert max(found) - min(found) < 0.5, found


def test_white_noise_rises_by_three_decibels_an_octave() -> None:
    """A band is 10^0.3 times as wide as the one below it: 3 dB."""
    assert pytest.approx([3.0] * 4, abs=0.4) == np.diff(levels_of(white(20)))


def test_levels_agree_with_another_estimate_of_the_spectrum() -> None:
    """scipy's Welch, integrated over the bands; noise, because a sum over bins suits it."""
    sound = pink(20, seed=3) + white(20, seed=4)
    bins, density = scipy.signal.welch(sound, RATE, "hann", 4096, detrend=False)
    width = bins[1] - bins[0]
    wanted = [
        10 * np.log10(density[(bins >= octave.low) & (bins < octave.high)].sum() * width)
        for octave in OCTAVES
    ]
    assert pytest.approx(wanted, abs=0.4) == levels_of(sound)


def test_too_little_sound_is_refused() -> None:
    with pytest.raises(ValueError, match="100 samples at 16000 Hz are too few for octaves"):
        octave_powers(np.zeros(100, np.float32), RATE)


@pytest.mark.parametrize("above", [6.0, 14.0, 20.5, 30.0])
def test_speech_above_noise_is_found_as_it_was_mixed(above: float) -> None:
    """Two noises of one shape stand for both, so that each octave has the same ratio."""
    noise, other = white(8, 1), white(8, 2)
    speech = white(4, 3, 0.01 * 10 ** (above / 20))
    both = other + np.concatenate([np.zeros(RATE), speech, np.zeros(3 * RATE)]).astype(np.float32)
    found = measured(noise, both, RATE, Whose.CALLOUT, 4.0)
    assert pytest.approx([above] * 5, abs=0.8) == [band.above for band in found.bands]
    assert (above >= ASKED) == found.enough


def test_what_is_missing_is_advised_as_a_gain_and_never_too_much() -> None:
    def gain(above: float) -> int | None:
        speech = white(4, 3, 0.0003 * 10 ** (above / 20))
        return measured(
            white(4, 1, 0.0003), white(4, 2, 0.0003) + speech, RATE, Whose.CALLOUT, 4
        ).gain

    assert 5 == gain(15.4)
    assert 0 == gain(24)
    assert -5 == gain(40.4), "softer where it is more than enough"
    assert SOFTEST == gain(55), "and never so soft that it could not be heard"
    assert None is gain(20 - LOUDEST - 2), "more than callout can add"


def test_the_advice_says_what_to_do_and_warns_of_loudness() -> None:
    noise = white(4, 1, 0.001)
    silent = measured(noise, white(4, 2, 0.001), RATE, Whose.CALLOUT, 4)
    assert not silent.caught
    assert "give --headset to callout run" in advice(silent)[0]
    soft = measured(noise, white(4, 2, 0.001) + white(4, 3, 0.006), RATE, Whose.CALLOUT, 4)
    told = " ".join(advice(soft))
    assert "Let callout speak 5 dB louder: callout run ... --gain 5" in told
    assert "Caution: callout cannot measure how loud it is at your ear." in told
    overdriven = measured(noise, sine(1000), RATE, Whose.PILOT, 2)
    assert ("The microphone is overdriven: lower its sensitivity, then measure again.",) == advice(
        overdriven
    )


def test_louder_is_by_so_many_decibels_and_never_beyond_full_scale() -> None:
    quiet = AudioBlock(sine(500, amplitude=0.1), RATE)
    for gain in (SOFTEST, -6, 6, LOUDEST):
        made = louder(quiet, gain).samples
        assert pytest.approx(gain, abs=0.01) == 20 * np.log10(np.abs(made).max() / 0.1)
    loud = louder(AudioBlock(sine(500, amplitude=0.9), RATE), LOUDEST).samples
    assert KNEE < np.abs(loud).max() < 1.0
    assert quiet is louder(quiet, 0)


def levels(*words: str, environment: dict[str, str] | None = None) -> tuple[int, str, str]:
    ran = subprocess.run(
        [CALLOUT, "doctor", "levels", *words],
        env=environment, capture_output=True, text=True, timeout=240, check=False,
    )  # fmt: skip
    return ran.returncode, ran.stdout, ran.stderr


def test_recordings_are_compared_without_any_device(tmp_path: Path) -> None:
    noise, speech = tmp_path / "noise.wav", tmp_path / "speech.wav"
    soundfile.write(noise, white(3, 1), RATE)
    soundfile.write(speech, white(3, 2) + white(3, 3, 0.03), RATE)
    status, out, _ = levels("--noise", str(noise), "--speech", str(speech), "--json")
    found = json.loads(out)
    assert 1 == status, "10 dB are not 20"
    assert pytest.approx(20 * np.log10(3), abs=1.0) == found["best_above_db"]
    assert [250, 500, 1000, 2000, 4000] == [band["octave_hz"] for band in found["octaves"]]
    assert found["enough"] is False
    status, out, err = levels("--noise", str(noise))
    assert (2, "") == (status, out)
    assert "--noise and --speech belong together." in err
    status, out, err = levels("--noise", str(noise), "--speech", str(tmp_path / "none.wav"))
    assert (2, "", f"There is no recording at {tmp_path}/none.wav.\n") == (status, out, err)


@pytest.mark.devices
@pytest.mark.flaky(reruns=2)
def test_callout_is_measured_through_devices() -> None:
    """What goes to the loudspeaker comes back into the microphone, in a room with noise."""
    loop = "module-loopback source=headset.monitor sink=hangar_mic latency_msec=60"
    with SoundServer(MICROPHONE, HEADSET, loop) as server:
        environment = server.environment | {
            "PULSE_SOURCE": "hangar_mic.monitor",
            "PULSE_SINK": "headset",
        }
        server.play(room(240, level=0.003))
        status, out, err = levels("--json", environment=environment)
    found = json.loads(out)
    assert 0 == status, out
    assert "Now callout speaks." in err
    assert found["caught"]
    # A clip's level is -20 dBFS, the noise in the octave of 500 Hz -50.5 - 13.5 dB.
    assert 30 < found["best_above_db"] < 50, out
