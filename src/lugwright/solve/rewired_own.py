"""Wirings that change what the mains cycle sees: each one's own cycle, all of them together.

As in `lugwright.solve.idle` DC and cycle take turns until the currents at every joint cancel with the cycle closed at
the final volts. Diodes that nothing alternates across follow their own law.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from lugwright.solve.current_tones import tones_of
from lugwright.solve.device_laws import diode_laws, diodes_only
from lugwright.solve.rewired_cycles import ClosedCycles, Loads, ManyCycles
from lugwright.solve.rewired_dc import DcColumns
from lugwright.solve.rewired_devices import Plane, PortDevices, drawn
from lugwright.solve.rewired_newton import Answer, Block, between_with_slopes, full_move
from lugwright.solve.rewired_ports import summed
from lugwright.solve.rewired_supply import SupplyLaw
from lugwright.solve.rewired_surroundings import Surroundings
from lugwright.solve.rewired_tube_slopes import slope_ends
from lugwright.solve.sparse_lu import Numbers
from lugwright.solve.system import Array, Index

if TYPE_CHECKING:
    from lugwright.solve.kernel.settle import Laws

ROUNDS = 14
STILL_V = 1e-3
RUNAWAY_V = 1e6
LOOKS = 4  # at what the tubes change around the diodes
TELLING = 2  # harmonics that tell whether they do
SAME = 3e-3  # share by which they may, as for wirings that keep the base's cycle
STALLS = 2  # rounds that bring a column no nearer before it is given up
CARRIES_V = 1e-5  # so close to a closed cycle its tangent is right to within rounding


class OwnSupplies:
    """Columns whose mains cycle is their own; ``diodes`` are those that take part in it."""

    def __init__(self, law: SupplyLaw, dc: DcColumns, chosen: Index, diodes: Index, rough: NDArray[np.bool_]) -> None:
        self.law, self.dc, self.system, self.chosen, self.diodes = law, dc, dc.system, chosen, diodes
        self._place = np.full(dc.columns.count, -1)
        self._place[chosen] = np.arange(len(chosen))
        self._surroundings = Surroundings(law, dc, chosen, diodes)
        laws = diodes_only(diode_laws(self.system, dc.values[:, chosen]), diodes)
        self.cycles = ManyCycles(*self._seen_first(rough[chosen]), laws)
        self._looks = np.where(rough[chosen], LOOKS, 0)  # what is rough is not looked at
        self._nearest, self._stalls = np.full(len(chosen), np.inf), np.zeros(len(chosen), dtype=int)
        self.waves = law.coarse_v(diodes) * self._swing_share[:, :, None]
        self._carried = np.zeros((len(chosen), len(diodes)))  # mean current of each diode at the columns' volts

    def _seen_first(self, rough: NDArray[np.bool_]) -> tuple[Numbers, Array]:
        """Return what the diodes see with the tubes as they are in the base.

        In rough columns they see no tubes: a slope would amplify what drives a tube from end to end.
        """
        system, e, around = self.system, len(self.diodes), self.law.around
        impedance = np.empty((len(rough), e, e, len(around.s)), dtype=complex)
        open_v = np.empty((len(rough), e, around.instants))
        slopes, ports = len(slope_ends(len(system.triodes), len(system.pentodes))), len(self.dc.columns.ports.a)
        count, diodes = int(rough.sum()), len(system.diodes)
        nothing = Answer(*(np.zeros((count, *shape)) for shape in ((ports,), (slopes,), (diodes, diodes))))
        for place, answer in ((np.flatnonzero(~rough), None), (np.flatnonzero(rough), nothing)):
            if len(place):
                impedance[place], open_v[place] = self._surroundings.of(self.chosen[place], answer)
        return impedance, open_v

    @property
    def _swing_share(self) -> Array:
        """Return what the mains alone puts across each diode against what it does in the base (column, diode)."""
        own, base = (np.abs(v).max(axis=-1) for v in (self.cycles.open_v, self.law.around.open_v[self.diodes]))
        return np.asarray(own / np.maximum(base, STILL_V))

    def solve(self, block: Block, answer: Answer, near: PortDevices) -> Index:
        """Solve the columns of a block and write what their devices do into an answer over all; return which failed.

        The first cycles are closed where devices ``near`` these would have the columns.
        """
        dc, going, failed = self.dc, np.arange(len(block.chosen)), []
        dc.approach(block, near)
        for _ in range(ROUNDS):
            part = block.narrowed(going)
            found = self._closed(part)
            kept = found.closed & (np.abs(dc.volts[:, part.chosen]).max(axis=0) < RUNAWAY_V)
            failed += [int(c) for c in part.chosen[~kept]]
            closed = np.flatnonzero(kept)
            going, part, cycles = going[closed], part.narrowed(closed), found.only(closed)
            if not len(going):
                break
            self.waves[self._place[part.chosen]] = cycles.port_v
            own = self._at_mean(part, cycles)
            done = self._certify(part, own, cycles) & ~self._tubes_matter(part, own)
            answer.put(part.chosen[done], own.only(np.flatnonzero(done)))
            stalled = ~done & self._stalled(part)
            failed += [int(c) for c in part.chosen[stalled]]
            on = np.flatnonzero(~done & ~stalled)
            going, part = going[on], part.narrowed(on)
            if not len(going):
                break
            self._settle(part, cycles.only(on))
        failed += [int(c) for c in block.chosen[going]]
        return np.array(sorted(set(failed)), dtype=np.intp)

    @property
    def tones(self) -> Numbers:
        """Return the tones of the diodes' currents in the cycles closed last (tone, diode, column)."""
        return tones_of(self.cycles.currents(self.waves)).transpose(0, 2, 1)

    def laws(self, chosen: Index, amps: Array, at_v: Array, slopes: Array) -> Laws:
        """Return the laws of some columns with these tangents of the excited diodes (column, excited[, excited])."""
        return self.dc.laws.of(chosen, np.zeros(len(chosen)), Plane(self.diodes, amps, at_v, slopes))

    def _devices(self, chosen: Index, u: Array, amps: Array, slopes: Array) -> Answer:
        """Return what devices do with these mean currents and slopes of the excited diodes."""
        at_v = u[self.diodes - len(self.system.diodes)].T
        return drawn(self.laws(chosen, amps, at_v, slopes), u)

    def _closed(self, block: Block) -> ClosedCycles:
        """Close the cycles of a block on its DC circuit as it is at the columns' volts, tubes by their slopes.

        The load is told from the currents that flow there, so that at the point itself its noise has no say.
        """
        chosen, e, place = block.chosen, len(self.diodes), self._place[block.chosen]
        v, amps = self.dc.volts[:, chosen], self._carried[place]
        u = block.ports.across(v)
        here = self._devices(chosen, u, amps, np.zeros((len(chosen), e, e)))
        at = self.diodes - len(self.system.diodes)
        move = full_move(self.system, block, here, self.dc.flows(chosen, v, here).left)
        ohm = between_with_slopes(self.system, block, here, at)
        open_v = (u - block.ports.across(move))[at].T + np.einsum("cpq,cq->cp", ohm, amps)
        loads = Loads(open_v, ohm)
        return self.cycles.only(place).close(loads, self.waves[place])

    def _at_mean(self, block: Block, cycles: ClosedCycles) -> Answer:
        """Return what devices do with the cycles' mean currents, each carried over to the very volts of DC."""
        u = block.ports.across(self.dc.volts[:, block.chosen])
        off = u[self.diodes - len(self.system.diodes)].T - cycles.mean_v
        near = np.abs(off).max(axis=1, keepdims=True) < CARRIES_V
        amps = cycles.mean_a + np.where(near, np.einsum("cpq,cq->cp", cycles.slope_s, off), 0.0)
        return self._devices(block.chosen, u, amps, cycles.slope_s)

    def _certify(self, block: Block, own: Answer, cycles: ClosedCycles) -> NDArray[np.bool_]:
        """Write down what is left over with the cycles closed at these volts; return where that is little enough."""
        chosen, dc = block.chosen, self.dc
        flows = dc.flows(chosen, dc.volts[:, chosen], own)
        at = self.diodes - len(self.system.diodes)
        doubt = np.abs(cycles.slope_s).sum(axis=2).T * cycles.left_over_v
        ends = np.concatenate([block.ports.a[at], block.ports.b[at]])
        allowed = flows.allowed + summed(ends, np.concatenate([doubt, doubt]), flows.allowed.shape)
        dc.left[:, chosen], dc.allowed[:, chosen] = flows.left, allowed
        return np.asarray(np.all(np.abs(flows.left) <= allowed, axis=0), dtype=bool)

    def _stalled(self, block: Block) -> NDArray[np.bool_]:
        """Return which columns have come no nearer for some rounds: turns of DC and cycle do not find their point."""
        place, chosen = self._place[block.chosen], block.chosen
        excess = np.nanmax(np.abs(self.dc.left[:-1, chosen]) / self.dc.allowed[:-1, chosen], axis=0)
        nearer = excess < 0.5 * self._nearest[place]
        self._nearest[place] = np.fmin(excess, self._nearest[place])
        self._stalls[place] = np.where(nearer, 0, self._stalls[place] + 1)
        return np.asarray(self._stalls[place] >= STALLS)

    def _tubes_matter(self, block: Block, own: Answer) -> NDArray[np.bool_]:
        """Return where the tubes as they are now change what the diodes see, and let these see it.

        Columns of which nothing is left over are looked at; the first to the second harmonic tell.
        """
        chosen, place, matter = block.chosen, self._place[block.chosen], np.zeros(len(block.chosen), dtype=bool)
        with np.errstate(invalid="ignore"):
            fine = np.all(np.abs(self.dc.left[:, chosen]) <= self.dc.allowed[:, chosen], axis=0)
        look = np.flatnonzero(fine & (self._looks[place] < LOOKS))
        if not len(look):
            return matter
        self._looks[place[look]] += 1
        now, open_now = self._surroundings.of(chosen[look], own.only(look), harmonics=TELLING)
        before = self.cycles.impedance[place[look]][..., :TELLING]
        open_before = self.cycles.open_v[place[look]]
        moved = np.abs(now - before).max(axis=(1, 2, 3)) > SAME * np.abs(before).max(axis=(1, 2, 3))
        moved |= np.abs(open_now - open_before).max(axis=(1, 2)) > SAME * np.abs(open_before).max(axis=(1, 2))
        again = look[moved]
        if len(again):
            self.cycles.see(place[again], *self._surroundings.of(chosen[again], own.only(again)))
            self._nearest[place[again]] = np.inf
        matter[again] = True
        return matter

    def _settle(self, block: Block, cycles: ClosedCycles) -> None:
        at = self.diodes - len(self.system.diodes)
        self.dc.solve([block], _NearCycles(self, block, cycles), block.ports.across(self.dc.volts[:, block.chosen]))
        off = block.ports.across(self.dc.volts[:, block.chosen])[at].T - cycles.mean_v
        self._carried[self._place[block.chosen]] = cycles.mean_a + np.einsum("cpq,cq->cp", cycles.slope_s, off)


class _NearCycles:
    """What the devices of a block do near its closed cycles: rectifiers along the tangents there."""

    def __init__(self, own: OwnSupplies, block: Block, cycles: ClosedCycles) -> None:
        self._own, self._cycles = own, cycles
        self._place = np.full(own.dc.columns.count, -1)
        self._place[block.chosen] = np.arange(len(block.chosen))

    def tables(self, chosen: Index) -> Laws:
        """Return their laws, for the machine code."""
        cycles, k = self._cycles, self._place[chosen]
        return self._own.laws(chosen, cycles.mean_a[k], cycles.mean_v[k], cycles.slope_s[k])
