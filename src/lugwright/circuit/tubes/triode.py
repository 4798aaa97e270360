"""The triode: plate current with exact derivatives."""

from __future__ import annotations

import numpy as np

from lugwright.circuit.tubes.drive import TRIODE_SOFT_V, Array, ArrayLike, drawing_v, drive


def triode_plate_current_a(
    plate_to_cathode_v: ArrayLike,
    grid_to_cathode_v: ArrayLike,
    *,
    mu: ArrayLike,
    k: ArrayLike,
    kp: ArrayLike,
    vct: ArrayLike,
    tail_share: ArrayLike,
    tail_mu_ratio: ArrayLike,
    kvb: ArrayLike,
    power: ArrayLike = 1.5,
    soft_v: ArrayLike = 0.0,
) -> tuple[Array, Array, Array]:
    """Return plate current and its slopes over plate and grid volts.

    Parameters
    ----------
    plate_to_cathode_v, grid_to_cathode_v : float or array
        Voltages against the cathode. [V]
    mu, k, kp, vct, tail_share, tail_mu_ratio, kvb, power, soft_v : float or array
        The type's parameters, see `lugwright.catalogue.records.TriodeLaw`.

    Returns
    -------
    tuple of arrays
        Plate current, plate conductance, transconductance. [A], [A/V], [A/V]

    Valid
    -----
    Any real voltage: never negative, smooth, rising with both voltages.

    Source
    ------
    Koren's drive with contact potential, sources in `drive`, to the power 3/2 of Child's law where the type's rows
    ask for no other, plus a second, weaker system ("tail") for types whose sheet gives a cut-off point. A 12AX7 that
    was measured whole had the power 1.26: K. Dempwolf and U. Zoelzer, DAFx-11, Paris 2011 (one parameter set seen
    in public source text).
    """
    v, v_slope = drawing_v(plate_to_cathode_v, soft_v=TRIODE_SOFT_V)
    i, by_v, by_grid = _section(
        v, grid_to_cathode_v, mu=mu, kp=kp, vct=vct, kvb=kvb, power=power, soft_v=soft_v
    )  # fmt: skip
    if np.any(tail_share):
        tail_i, tail_by_v, tail_by_grid = _section(
            v, grid_to_cathode_v, mu=mu * tail_mu_ratio, kp=kp, vct=vct, kvb=kvb, power=power, soft_v=soft_v
        )
        i = (1.0 - tail_share) * i + tail_share * tail_i
        by_v = (1.0 - tail_share) * by_v + tail_share * tail_by_v
        by_grid = (1.0 - tail_share) * by_grid + tail_share * tail_by_grid
    return k * i, k * by_v * v_slope, k * by_grid


def _section(
    v: Array,
    grid_v: ArrayLike,
    *,
    mu: ArrayLike,
    kp: ArrayLike,
    vct: ArrayLike,
    kvb: ArrayLike,
    power: ArrayLike,
    soft_v: ArrayLike,
) -> tuple[Array, Array, Array]:
    e, by_v, by_grid = drive(v, grid_v, mu=mu, kp=kp, vct=vct, kvb=kvb, soft_v=soft_v)
    root = e ** (power - 1.0)
    return e * root, power * root * by_v, power * root * by_grid
