"""A voltmeter on joints that show too much resistance to be read by Thevenin: solved again with the meter in."""

from __future__ import annotations

import numpy as np

from lugwright.solve.rewired_devices import PortDevices, drawn
from lugwright.solve.rewired_newton import Block, newton
from lugwright.solve.system import Array, Index, System


def metered_volts(
    system: System,
    devices: PortDevices,
    block: Block,
    drive: Array,
    volts: Array,
    at: tuple[Index, Index, Index],
    ohm: float,
) -> Array:
    """Return what a meter on joints shows, each reading a solution of its own.

    Parameters
    ----------
    system : System
        The circuit.
    devices : PortDevices
        The tubes and diodes of all columns.
    block : Block
        The columns.
    drive : array
        Current of the sources into joints (joint, column). [A]
    volts : array
        The columns without a meter (joint, column). [V]
    at : tuple of arrays
        Columns of the block, rows of red and of black, one reading each.
    ohm : float
        The meter. [ohm]

    Returns
    -------
    array
        Volts (reading); not a number where none was found. [V]

    Source
    ------
    A conductance more in one place: the inverse changes by one product.
    """
    pick, red, black = at
    part = block.narrowed(pick)
    ports = (part.ports.a.T, part.ports.b.T)
    joint = (red[:, None], black[:, None])
    own = part.updated.between(joint, joint)[:, 0, 0]
    out, into = part.updated.between(joint, ports)[:, 0], part.updated.between(ports, joint)[:, :, 0]
    share = 1.0 / (ohm + own)
    between = part.between - into[:, :, None] * out[:, None, :] * share[:, None, None]
    alone = part.updated.apply(drive[:, pick])
    reads = alone[red, np.arange(len(pick))] - alone[black, np.arange(len(pick))]
    open_v = part.ports.across(alone) - (into * (reads * share)[:, None]).T
    start = part.ports.across(volts[:, pick])
    laws = devices.tables(part.chosen)
    u, settled = newton(system, laws, between, open_v, start)
    shown = (reads - np.einsum("rp,rp->r", out, drawn(laws, u).amps)) * ohm * share
    return np.where(settled, shown, np.nan)
