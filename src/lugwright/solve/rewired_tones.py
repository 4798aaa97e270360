"""What the rectifiers' currents hold of the mains frequency and of its multiples, wiring by wiring.

A supply whose first capacitor is large draws more of them as it carries more; behind a choke they hardly follow its
load. So they are read off the closed cycles that its law is made of, by the mean current that flows in each wiring; a
wiring with a cycle of its own has them from that.
"""

from __future__ import annotations

import numpy as np

from lugwright.solve.current_tones import TONES
from lugwright.solve.rewired_supply import SupplyLaw
from lugwright.solve.sparse_lu import Numbers
from lugwright.solve.system import Array


def supply_tones(law: SupplyLaw, mean_a: Array, mains: Array) -> Numbers:
    """Return the tones of every diode's current where the supplies' law holds.

    Parameters
    ----------
    law : SupplyLaw
        The supplies of a base.
    mean_a : array
        Mean current of every diode (diode, column). [A]
    mains : array
        Open-circuit volts of the supplies against those of the base (column). [-]

    Returns
    -------
    array
        Complex RMS (tone, diode, column). [A]

    Valid
    -----
    Where the impedance around the excited diodes is that of the base; the others carry no tones.

    Source
    ------
    Closed cycles of the base at some loads; straight lines between them, by the mean current of the supply.
    """
    found = np.zeros((len(TONES), *mean_a.shape), dtype=complex)
    scale = np.where(mains > 0.0, mains, 1.0)
    for curve in law.curves:
        at = law.excited[curve.ports]
        known = curve.amps[:, curve.ports].sum(axis=1)
        order = np.argsort(known, kind="stable")
        load = mean_a[at].sum(axis=0) / scale
        for tone in range(len(TONES)):
            for diode, row in zip(at, curve.tones[:, tone, curve.ports].T, strict=True):
                between = [np.interp(load, known[order], part[order]) for part in (row.real, row.imag)]
                found[tone, diode] = (between[0] + 1j * between[1]) * mains
    return found
