"""The tones of periodic currents: what alternates with the mains frequency and its multiples."""

from __future__ import annotations

import numpy as np

from lugwright.solve.sparse_lu import Numbers
from lugwright.solve.system import Array

TONES = (1, 2, 4)  # harmonics of the mains; the others of a capacitor's saw-tooth hold little


def tones_of(port_a: Array) -> Numbers:
    """Return the tones of periodic currents (..., instant): complex RMS (tone, ...). [A]"""
    spectrum = np.fft.rfft(port_a, axis=-1)[..., list(TONES)] * (np.sqrt(2.0) / port_a.shape[-1])
    return np.asarray(np.moveaxis(spectrum, -1, 0))
