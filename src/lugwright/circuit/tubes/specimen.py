"""One measured tube: its law as the published one adjusted, and how its currents follow each adjustment.

Slopes are over the logarithm of a factor, and over volts for the shift: what a fit moves.
"""

from __future__ import annotations

from dataclasses import replace
from typing import NamedTuple

import numpy as np

from lugwright.catalogue.records import PentodeLaw, RectifierLaw, Specimen, TriodeLaw, TubeLaw
from lugwright.circuit.tubes.drive import TRIODE_SOFT_V, Array, cutoff_width, drawing_v, softplus
from lugwright.circuit.tubes.pentode import FLOOR_A, KNEE_A, KNEE_POWER


class SpecimenCurrents(NamedTuple):
    """Plate and screen current of a specimen (point), and their slopes (adjustment, point). [A]"""

    plate_a: Array
    screen_a: Array
    plate_by: Array
    screen_by: Array


def specimen_law(law: TubeLaw, specimen: Specimen) -> TubeLaw:
    """Return the law of one measured tube.

    Source
    ------
    Own choice of what differs between specimens. The screen's share changes where the plate has its full current;
    what the screen takes with no volts on the plate stays (``rho`` times one plus ``alpha_s``).
    """
    if isinstance(law, RectifierLaw):
        return replace(law, perveance=law.perveance * specimen.emission)
    both = {
        "k": law.k * specimen.emission,
        "mu": law.mu * specimen.amplification,
        "vct": law.vct + specimen.shift_v,
        "kp": law.kp * specimen.cutoff,
        "grid_gain": law.grid_gain * specimen.emission,
    }
    if isinstance(law, TriodeLaw):
        return replace(law, **both)
    return replace(
        law,
        **both,
        rho=law.rho * specimen.screen,
        alpha_s=(1.0 + law.alpha_s) / specimen.screen - 1.0,
        slope=law.slope * specimen.plate_slope,
        beta=law.beta * specimen.knee,
    )


def triode_specimen(law: TriodeLaw, *, plate_v: Array, grid_v: Array) -> SpecimenCurrents:
    """Return a triode's current and its slopes over emission, amplification, shift and cutoff.

    Source
    ------
    The law in ``circuit/tubes/triode.py``, differentiated.
    """
    v, _ = drawing_v(plate_v, soft_v=TRIODE_SOFT_V)
    shape = {"power": law.power, "soft_v": law.soft_v}
    main, main_by = _powered(law, v, grid_v, mu=law.mu, **shape)
    tail, tail_by = _powered(law, v, grid_v, mu=law.mu * law.tail_mu_ratio, **shape)
    share = law.tail_share
    current = law.k * ((1.0 - share) * main + share * tail)
    slopes = law.k * ((1.0 - share) * main_by + share * tail_by)
    nothing = np.zeros_like(current)
    by = np.stack([current, *slopes])
    return SpecimenCurrents(current, nothing, by, np.zeros_like(by))


def pentode_specimen(law: PentodeLaw, *, plate_v: Array, screen_v: Array, grid_v: Array) -> SpecimenCurrents:
    """Return a pentode's currents and their slopes over all seven adjustments.

    Source
    ------
    The law in ``circuit/tubes/pentode.py``, differentiated.
    """
    v, _ = drawing_v(plate_v)
    s, _ = drawing_v(screen_v)
    drive, drive_by = _powered(law, s, grid_v, mu=law.mu)
    space, space_by = law.k * drive, law.k * drive_by
    b = law.beta * (KNEE_A / (space + FLOOR_A)) ** KNEE_POWER
    h = 1.0 / (1.0 + b * v)
    bend = KNEE_POWER * space / (space + FLOOR_A)
    plate_share = (1.0 - law.rho) * (1.0 - h) + law.slope * v
    screen_share = law.rho * (1.0 + law.alpha_s * h)
    plate_by_space = (1.0 - law.rho) * (1.0 - h) * (1.0 - bend * h) + law.slope * v
    screen_by_space = law.rho * (1.0 + law.alpha_s * h * (1.0 + bend * (1.0 - h)))
    whole_by = np.stack([space, *space_by])
    knee = b * v * h * h  # dh is -knee for each e-fold of beta
    nothing = np.zeros_like(space)
    plate_by = [-law.rho * (1.0 - h), law.slope * v, (1.0 - law.rho) * knee]
    screen_by = [law.rho * (1.0 - h), nothing, -law.rho * law.alpha_s * knee]
    return SpecimenCurrents(
        space * plate_share,
        space * screen_share,
        np.concatenate([plate_by_space * whole_by, space * np.stack(plate_by)]),
        np.concatenate([screen_by_space * whole_by, space * np.stack(screen_by)]),
    )


def _powered(
    law: TriodeLaw | PentodeLaw, v: Array, grid_v: Array, *, mu: float, power: float = 1.5, soft_v: float = 0.0
) -> tuple[Array, Array]:
    """Return the drive to its power and its slopes over ln mu, the shift and ln kp."""
    q = np.sqrt(law.kvb + v * v)
    width = cutoff_width(q, kp=law.kp, soft_v=soft_v)
    z = (1.0 / mu + (grid_v + law.vct) / q) / width
    soft, slope = softplus(z)
    e = v * width * soft
    by = np.stack([-v * slope / mu, v * slope / q, -v / (law.kp**2 * width) * (soft - slope * z)])
    root = e ** (power - 1.0)
    return e * root, power * root * by
