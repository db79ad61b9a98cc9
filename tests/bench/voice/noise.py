"""Noise like that on a roof: a fan's rumble and hum, falling water, or something between; with gusts. From memory."""

import numpy as np

from seasonlog.voice.engines.sound import RATE_HZ, Clip

BLADES_HZ = 31.0
"""Blades passing a second: some six blades at 310 turns a minute."""
LEAD_S, TAIL_S = 0.4, 0.6
"""Silence before and after the words, as a microphone gives it."""


def in_noise(clip: Clip, snr_db: float | None, seed: int) -> Clip:
    """A clip with silence around it and noise so far below its speech; None leaves the noise out."""
    speech = np.frombuffer(clip.pcm, np.int16).astype(np.float64)
    lead, tail = (np.zeros(round(each * RATE_HZ)) for each in (LEAD_S, TAIL_S))
    around = np.concatenate([lead, speech, tail])
    if snr_db is not None:
        noise = roof(len(around), seed)
        around = around + noise * np.sqrt(_loud(speech) / 10 ** (snr_db / 10))
    loudest = np.max(np.abs(around)) or 1.0
    return Clip((around * min(1.0, 32000 / loudest)).astype(np.int16).tobytes())


def roof(samples: int, seed: int) -> np.ndarray:
    """Noise of unit power; how it falls with frequency is drawn: like rumble, like water, or between."""
    random = np.random.default_rng(seed)
    spectrum = np.fft.rfft(random.standard_normal(samples))
    hertz = np.fft.rfftfreq(samples, 1 / RATE_HZ)
    steepness, hum_part = random.choice([(1.0, 0.5), (0.5, 0.2), (0.15, 0.05)])
    rush = np.fft.irfft(spectrum / (1 + hertz / 150) ** steepness, samples)
    at = np.arange(samples) / RATE_HZ
    hum = sum(np.sin(2 * np.pi * BLADES_HZ * n * at + random.uniform(0, 6)) / n for n in range(1, 9))
    gusts = 1 + 0.3 * np.sin(2 * np.pi * random.uniform(0.2, 0.8) * at + random.uniform(0, 6))
    made = (rush / np.std(rush) + hum_part * hum / np.std(hum)) * gusts
    return made / np.sqrt(np.mean(made**2))


def _loud(speech: np.ndarray) -> float:
    """Power of the parts in which somebody speaks: frames within 30 dB of the loudest."""
    frames = speech[: len(speech) // 320 * 320].reshape(-1, 320)
    power = np.mean(frames**2, axis=1)
    return float(np.mean(power[power > power.max() / 1000]))
