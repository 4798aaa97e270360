"""The triode: plate current with exact derivatives."""

from __future__ import annotations

import numpy as np

from lugwright.circuit.tubes.drive import Array, ArrayLike, drive, positive_part


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
) -> tuple[Array, Array, Array]:
    """Return plate current and its slopes over plate and grid volts.

    Parameters
    ----------
    plate_to_cathode_v, grid_to_cathode_v : float or array
        Voltages against the cathode. [V]
    mu, k, kp, vct, tail_share, tail_mu_ratio, kvb : float or array
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
    Koren's drive with contact potential and the exponent fixed at 3/2, plus a second, weaker
    system ("tail") for types whose sheet gives a cut-off point. Sources in `drive`.
    """
    v, v_slope = positive_part(plate_to_cathode_v)
    main = _three_halves(v, grid_to_cathode_v, mu=mu, kp=kp, vct=vct, kvb=kvb)
    if np.any(tail_share):
        tail = _three_halves(v, grid_to_cathode_v, mu=mu * tail_mu_ratio, kp=kp, vct=vct, kvb=kvb)
        main = tuple((1.0 - tail_share) * m + tail_share * t for m, t in zip(main, tail, strict=True))
    current, by_v, by_grid = (k * m for m in main)
    return current, by_v * v_slope, by_grid


def _three_halves(
    v: Array, grid_v: ArrayLike, *, mu: ArrayLike, kp: ArrayLike, vct: ArrayLike, kvb: ArrayLike
) -> tuple[Array, ...]:
    e, by_v, by_grid = drive(v, grid_v, mu=mu, kp=kp, vct=vct, kvb=kvb)
    root = np.sqrt(e)
    return e * root, 1.5 * root * by_v, 1.5 * root * by_grid
