"""The poles of a whole amplifier: how it comes to rest by itself, or does not.

From the plain matrices, E dx/dt + G x = 0 with E = R R^T: the eigenvalues m of R^T (G + sigma E)^-1 R belong to
poles s = sigma - 1/m. The unknowns of that small matrix are square roots of stored energy, so that slow modes of
farads and fast modes of picofarads come out of one shift. Every pole that swings or grows is then refined on the
matrices themselves, with the mode at all joints and what excites it.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from lugwright.solve.descriptor import Descriptor
from lugwright.solve.response_results import Pole, Poles
from lugwright.solve.small_signal import SmallSignal

SHIFT_PER_S = 1e4
_FASTEST_PER_S = 1e11  # beyond this lie no parts but rounding
_SWINGS = 0.95  # damping below which a pole is worth naming
GROWS_PER_S = 1e-3  # slower growth takes a quarter of an hour and is rounding
_NAMED = 3  # joints
_STEPS = 3
_BESIDE = 1e-7  # of the pole: where the matrix can still be solved
_TAKES_PART = 0.1  # of the joint with the largest share

Complex = NDArray[np.complex128]


def all_poles(form: Descriptor) -> Complex:
    """Return every pole of the matrices below 16 GHz, the slowest first. [1/s]"""
    shifted = np.linalg.solve(form.conductance + SHIFT_PER_S * form.storage, form.roots)
    found = np.linalg.eigvals(form.roots.T @ shifted)
    found = found[np.abs(found) * _FASTEST_PER_S > 1.0]
    poles = SHIFT_PER_S - 1.0 / found.astype(complex)
    return np.asarray(poles[np.argsort(np.abs(poles))])


def amplifier_poles(signal: SmallSignal, setting: int = 0) -> Poles:
    """Return the poles that swing or grow, the least damped first.

    Parameters
    ----------
    signal : SmallSignal
        The circuit made linear at its idle.
    setting : int
        Which of its settings.

    Returns
    -------
    Poles
        A swinging pole stands for itself and its mirror image.

    Source
    ------
    Algebra at the head of this file; refinement by two-sided inverse iteration.
    """
    form = signal.matrices(setting)
    poles = all_poles(form)
    upper = poles[np.imag(poles) >= 0.0]
    worth = [s for s in upper if -s.real < _SWINGS * abs(s) or s.real > GROWS_PER_S]
    named = [_refined(form, complex(s)) for s in worth]
    return Poles(len(poles), tuple(sorted(named, key=lambda pole: (pole.damping, pole.hertz))))


def growing_poles(signal: SmallSignal, setting: int) -> list[Pole]:
    """Return the poles of one setting that grow."""
    form = signal.matrices(setting)
    found = (complex(s) for s in all_poles(form) if s.imag >= 0.0 and s.real > GROWS_PER_S)
    return [_refined(form, s) for s in found]


def _refined(form: Descriptor, s: complex) -> Pole:
    e, g = form.storage, form.conductance
    right = left = form.roots.sum(axis=1).astype(complex)
    before = s
    for _ in range(_STEPS):
        matrix = g + (s + _BESIDE * abs(s)) * e
        right, left = np.linalg.solve(matrix, right), np.linalg.solve(matrix.T, left)
        stored = left @ e @ right
        before, s = s, complex(-(left @ g @ right) / stored)
        right, left = e @ right / np.abs(right).max(), e @ left / np.abs(left).max()
    matrix = g + (s + _BESIDE * abs(s)) * e
    right, left = np.linalg.solve(matrix, right), np.linalg.solve(matrix.T, left)
    taking_part = np.abs(left * (e @ right))[: form.system.size]
    order = np.argsort(-taking_part, kind="stable")[:_NAMED]
    joints = tuple(form.system.joints[k] for k in order if taking_part[k] > _TAKES_PART * taking_part[order[0]])
    return Pole(
        hertz=abs(s.imag) / (2.0 * np.pi),
        growth_per_s=s.real,
        damping=-s.real / abs(s) if s else 0.0,
        joints=joints,
        error=abs(s - before) / abs(s) if s else 0.0,
    )
