"""One step of the power-up, every hypothesis solved in it once: what each says at pairs of terminals."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from lugwright.bringup.good_builds import MAINS
from lugwright.bringup.trace.bench import GENERATOR_OHM, SIGNAL_HZ, SIGNAL_METER_S, SIGNAL_V, TraceBench
from lugwright.bringup.trace.exact import wired_so
from lugwright.bringup.trace.hypotheses import Hypothesis
from lugwright.bringup.trace.lamp_share import lamp_share
from lugwright.bringup.trace.ohms_followed import MOST_SHARE, ohms_followed
from lugwright.bringup.trace.reading_noise import MODEL
from lugwright.bringup.trace.records import Array, Probe
from lugwright.bringup.trace.signal_moves import signal_moves
from lugwright.bringup.trace.tips import Tips, tips_of
from lugwright.circuit.rewiring import Rewiring
from lugwright.solve.current_tones import TONES
from lugwright.solve.drawn_current import drawn_a
from lugwright.solve.ohms import ohm_readings
from lugwright.solve.rewired import solve_rewired
from lugwright.solve.rewired_alternating import Heard, harmonic_volts, mains_volts, signal_heard
from lugwright.solve.rewired_many import ManyRewired
from lugwright.solve.rewired_ohms import OhmsRewired, ohms_rewired
from lugwright.solve.rewired_some import between_ohm, metered
from lugwright.solve.sparse_lu import Numbers

Value = tuple[str, str]  # (element, field)
Chosen = NDArray[np.int_]

JUNCTION_SHARE = 0.6  # of an ohm reading through silicon: it depends on the meter
SAME_SHARE = 0.01  # by which an ohm reading worked out anew may differ and still hang on the same parts
LEAST_OHM = 1e-4  # less is no reading
LOOSE_OHM = 1e6  # a meter on alternating volts reads nothing of use from more
LEAKS_OHM, LEAKS_SHARE = 1e9, 0.1  # beyond that only a strip's leaks feed the meter: the size of these is a guess
DRIVEN_V = 1.0  # mains hum between grid and cathode: far more than ripple ever is there
LOUD_V, LOUD_SHARE = 1.0, 1.0  # mains on a grid or screen: of what the tube's whole current does to a reading
OWN_CYCLE_SHARE = 0.1  # of ripple where the rectifiers have their own cycle, of fewer instants than a good build's
DRIVEN_SHARE = 0.4  # of ripple where tubes have the mains on them: what they draw moves it too
TINY_V = 1e-9
OWN_CYCLE_AC_SHARE = 0.05  # as for ripple, of the volts of windings
OWN_CYCLE_LAMP_SHARE = 0.3  # and of the limiter lamp


@dataclass(frozen=True)
class Said:
    """What some hypotheses say of the spots of one step and quantity, in the unit of the quantity."""

    value: Array  # (hypothesis, spot); infinite for over range
    by_value: Array  # (hypothesis, spot, value): moved while the logarithm of a value moves by one, first order
    known: NDArray[np.bool_]  # (hypothesis, spot)
    doubt: Array  # (hypothesis, spot): one standard deviation beyond what the quantity always has
    place: Chosen  # (hypothesis, probe): the spot at which it reads


@dataclass(frozen=True, eq=False)
class StepAnswers:
    """One step; ``values`` are what spreads from good build to good build.

    ``final`` is the step whose direct volts a signal meets: a plug in the input and a generator move none of them.
    """

    bench: TraceBench
    key: str
    hypotheses: tuple[Hypothesis, ...]
    values: tuple[Value, ...]
    final: StepAnswers | None = None

    def said(self, quantity: str, probes: Sequence[Probe], some: Chosen) -> Said:
        """Return what some hypotheses say of probes of this step, or one wired alike, that are all of one quantity."""
        return _QUANTITIES[quantity](self, probes, some)

    # ---- what is solved ------------------------------------------------------------------------

    @cached_property
    def _own(self) -> list[Rewiring]:
        return self.final._own if self.final else [self.bench.rewiring_at(self.key, h) for h in self.hypotheses]

    @cached_property
    def column(self) -> Chosen:
        """Return which of the different wirings each hypothesis is: in one step many are the same."""
        place: dict[tuple[object, ...], int] = {}
        driven, found = self.bench.driven, np.empty(len(self.hypotheses), dtype=int)
        for k, (r, h) in enumerate(zip(self._own, self.hypotheses, strict=True)):
            found[k] = place.setdefault((r.changes, r.moved, r.bridges, h.stands.get(driven)), len(place))
        return found

    @cached_property
    def rewirings(self) -> tuple[Rewiring, ...]:
        """Return the different wirings."""
        first: dict[int, Rewiring] = {}
        for column, rewiring in zip(self.column, self._own, strict=True):
            first.setdefault(int(column), rewiring)
        return tuple(first[k] for k in range(len(first)))

    @cached_property
    def many(self) -> ManyRewired:
        """Return the direct voltages of every wiring."""
        return self.final.many if self.final else solve_rewired(self.bench.solved_at(self.key), self.rewirings)

    @property
    def is_solved(self) -> bool:
        """Return whether `many` has been worked out."""
        return "many" in self.__dict__

    def keep(self, many: ManyRewired) -> None:
        """Take what was worked out elsewhere as `many`."""
        self.__dict__["many"] = many

    def _tips(self, probes: Sequence[Probe], some: Chosen) -> Tips:
        elsewhere = [(self.hypotheses[h].stands, {m.to for m in self._own[h].moved}) for h in some]
        return tips_of(self.bench, probes, elsewhere)

    def _rows(self, tips: Tips, some: Chosen) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
        """Return the rows of red and black (hypothesis, probe)."""
        columns = self.column[some].tolist()
        apart = {id(pairs): tuple([pair[k] for pair in pairs] for k in (0, 1)) for pairs in tips.pairs}
        red, black = (self.many.columns.rows_in(columns, [apart[id(pairs)][k] for pairs in tips.pairs]) for k in (0, 1))
        return red, black

    # ---- one quantity each -----------------------------------------------------------------------

    def _dc(self, probes: Sequence[Probe], some: Chosen) -> Said:
        tips, columns = self._tips(probes, some), self.column[some]
        red, black = self._rows(tips, some)
        found = metered(self.many, columns, (red, black), self.values)
        value, by = found.shown, found.by_cause
        afloat = self.many.exact[columns][:, None] & (found.ohm > LOOSE_OHM)  # a supply that idles is no resistance
        known = self.many.solved[columns][:, None] & ~afloat
        leaks = (found.ohm > LEAKS_OHM) & (np.abs(value) < LEAKS_SHARE * np.abs(found.plain))
        stray = np.array([self.bench.stray_v(p) for p in probes])[tips.probe]
        doubt = np.sqrt(stray**2 + self._loud_v(columns, by) ** 2 + np.where(leaks, value, 0.0) ** 2)
        return self._told(value, by, known, tips, doubt)

    def _loud_v(self, columns: Chosen, by_value: Array) -> Array:
        """Return the doubt of direct volts where the mains is on a tube's grid or screen (hypothesis, probe).

        What it then draws on average no slope tells; anything between a third of it and three times as much may be.
        """
        squares = np.zeros(by_value.shape[:2])
        for k, (name, field) in enumerate(self.values):
            if field == "on" and self.many.rough.any() and name in self._loud:
                moved = np.where(self._loud[name][columns][:, None], by_value[:, :, k], 0.0)
                squares += np.where(np.isfinite(moved), LOUD_SHARE * moved, 0.0) ** 2
        return np.sqrt(squares)

    @cached_property
    def _loud(self) -> dict[str, NDArray[np.bool_]]:
        """Return by tube the wirings that put the mains on its grid or screen (column)."""
        many, system = self.many, self.many.base.system
        t, p = len(system.triodes), len(system.pentodes)
        places = {tube.name: [t + k] for k, tube in enumerate(system.triodes)}
        places |= {tube.name: [2 * t + p + k, 2 * t + 2 * p + k] for k, tube in enumerate(system.pentodes)}
        ports, each, volts = many.columns.ports, np.arange(many.columns.count), self._mains_about
        across = {name: np.abs(volts[ports.a[at], each] - volts[ports.b[at], each]) for name, at in places.items()}
        return {name: many.rough & (v.max(axis=0) > LOUD_V) for name, v in across.items()}

    def _ohm(self, probes: Sequence[Probe], some: Chosen) -> Said:
        tips, columns = self._tips(probes, some), self.column[some]
        wirings = [self.rewirings[c] for c in columns]
        acting = [k for k, (_, name) in enumerate(self.values) if name in ("ohm", "leak_s")]
        ohmic = [self.values[k] for k in acting]
        found = ohms_rewired(self.bench.unplugged, tips.plain, wirings, stands=tips.pairs, causes=ohmic)
        ohm, share = self._checked(found, columns, tips, ohmic)
        finite = np.where(np.isfinite(ohm), ohm, 0.0)
        by = np.zeros((*finite.shape, len(self.values)))
        by[:, :, acting] = share * finite[:, :, None]
        value = np.where(tips.alone, np.inf, ohm)
        doubt = np.where(found.through_junction, JUNCTION_SHARE * finite, 0.0)
        return self._told(value, by, np.ones(value.shape, dtype=bool), tips, doubt)

    def _checked(self, found: OhmsRewired, columns: Chosen, tips: Tips, ohmic: Sequence[Value]) -> tuple[Array, Array]:
        """Return readings and what parts have in them; those that no circuit of resistances has are worked out anew.

        No reading follows one resistance more than in proportion, and none between two joints is nothing at all: where
        it seems so, both joints float and the difference of two huge numbers is all that was found. At joints that
        float anyway, as the mains side does with the plug out, a wiring that touches them is always worked out anew.
        What then reads as in the good build hangs on the same parts; what reads otherwise is followed part by part.
        """
        ohm, share = found.ohm.copy(), found.by_cause.copy()
        most = np.max(np.abs(share), axis=2, initial=0.0)
        odd = (most > MOST_SHARE) | ~(ohm > LEAST_OHM)
        held = {*self.bench.unplugged.joints, self.bench.circuit.ground} - self.bench.floating
        told = {id(pairs): [not held.issuperset(pair) for pair in pairs] for pairs in tips.pairs}
        loose = np.array([told[id(pairs)] for pairs in tips.pairs], dtype=bool)
        odd |= loose.reshape(odd.shape) & self._stirring[columns][:, None]
        odd &= ~(tips.same | tips.alone)
        if not odd.any():
            return ohm, share
        good = ohms_rewired(self.bench.unplugged, tips.plain, [Rewiring("")], causes=ohmic)
        for row in np.flatnonzero(odd.any(axis=1)):
            at = np.flatnonzero(odd[row])
            rewiring, pairs = self.rewirings[columns[row]], tips.pairs[row]
            circuit = wired_so(self.bench.unplugged, rewiring)
            before = ohm[row, at]
            ohm[row, at] = ohm_readings(circuit, [pairs[k] for k in at], [rewiring.edit]).ohm[0]
            same = np.isclose(ohm[row, at], before, rtol=SAME_SHARE, atol=0.0) & (most[row, at] <= MOST_SHARE)
            planned = np.array([pairs[k] == tips.plain[k] for k in at])
            planned &= np.isclose(ohm[row, at], good.ohm[0, at], rtol=SAME_SHARE, atol=0.0)
            share[row, at[planned & ~same]] = good.by_cause[0, at[planned & ~same]]
            if len(other := at[~planned & ~same]):
                share[row, other] = ohms_followed(circuit, [pairs[k] for k in other], rewiring.edit, ohmic)
        return np.where(np.isnan(ohm), np.inf, ohm), share

    @cached_property
    def _stirring(self) -> NDArray[np.bool_]:
        return np.array([self._stirs(column) for column in range(len(self.rewirings))], dtype=bool)

    def _stirs(self, column: int) -> bool:
        """Return whether a wiring touches what floats on the bench: then the difference of two huge numbers is left."""
        rewiring, floating = self.rewirings[column], self.bench.floating
        if any({b.a, b.b} & floating for b in rewiring.bridges) or any(m.to in floating for m in rewiring.moved):
            return True
        touched = {m.element for m in rewiring.moved} | {c.element for c in rewiring.changes}
        return bool(touched & self.bench.afloat)

    def _ac(self, probes: Sequence[Probe], some: Chosen) -> Said:
        tips, columns = self._tips(probes, some), self.column[some]
        red, black = self._rows(tips, some)
        volts = self._alternating
        each = columns[:, None]
        steady = np.abs(volts[red, each] - volts[black, each])
        ripple = _rms(
            [wave[each, red] - wave[each, black] for wave in self._full_wave]
        )  # what rides on B+ reads it too
        value = np.hypot(steady, ripple)
        loose = ~(between_ohm(self.many, columns, (red, black)) < LOOSE_OHM)  # reads what strays into it
        value = np.where(loose & ~(tips.same | tips.alone), np.nan, value)
        share = self._own_cycle(columns, OWN_CYCLE_SHARE)
        share = MODEL["ripple V ac"].share + np.where(self._driven[columns][:, None], DRIVEN_SHARE, share)
        doubt = self._own_cycle(columns, OWN_CYCLE_AC_SHARE) * value + share * ripple**2 / np.maximum(value, TINY_V)
        return self._of_mains(value, columns, tips, doubt)

    def _ripple(self, probes: Sequence[Probe], some: Chosen) -> Said:
        tips, columns = self._tips(probes, some), self.column[some]
        red, _ = self._rows(tips, some)
        value = np.where(self._driven[columns][:, None], np.nan, self._rippling[columns[:, None], red])
        return self._of_mains(value, columns, tips, self._own_cycle(columns, OWN_CYCLE_SHARE) * value)

    def _signal(self, probes: Sequence[Probe], some: Chosen) -> Said:
        tips, columns = self._tips(probes, some), self.column[some]
        red, black = self._rows(tips, some)
        each, value = columns[:, None], np.zeros(red.shape)
        for row in np.unique(black):
            heard = self._heard_to(int(row))
            shown = np.where(np.abs(heard.ohm) < LOOSE_OHM, SIGNAL_V * np.abs(heard.shown(SIGNAL_METER_S)), np.nan)
            value = np.where(black == row, shown[each, red], value)
        known = np.broadcast_to(self.many.solved[columns][:, None], value.shape)
        moves = self._signal_moves
        by = (
            moves[np.where(red < len(moves) - 1, red, len(moves) - 1)]
            * np.where(np.isfinite(value), value, 0.0)[:, :, None]
        )
        return self._told(value, by, known, tips, np.zeros(value.shape))

    @cached_property
    def _signal_moves(self) -> Array:
        return signal_moves(self.bench, self.values)

    def _heard_to(self, black: int) -> Heard:
        """Return what every joint shows against a black row for one volt of the generator (column, joint)."""
        if black not in self._heard:
            many, bench = self.many, self.bench
            first = dict(zip(reversed(self.column.tolist()), reversed(self.hypotheses), strict=True))
            joints = [bench.joint_of(bench.driven, first[c].stands) for c in range(many.columns.count)]
            source = np.array([[many.columns.row_of(c, joint)] for c, joint in enumerate(joints)], dtype=np.intp)
            values = many.columns.values(bench.plugged.values)
            at = self._every, black, source
            self._heard[black] = signal_heard(
                bench.plugged, many.columns, values, many.answer, at, SIGNAL_HZ, GENERATOR_OHM
            )
        return self._heard[black]

    @cached_property
    def _heard(self) -> dict[int, Heard]:
        return {}

    def _lamp(self, probes: Sequence[Probe], some: Chosen) -> Said:
        """Return the share of the mains on the limiter lamp; a load behind it draws about in proportion to its volts.

        The good build's is known whole: what the lamp makes of its load is taken to be the same for all.
        """
        columns, many, bench = self.column[some], self.many, self.bench
        (watts, _), mains_v = bench.limiter, bench.build.mains_v
        admittance = drawn_a(many.columns, many.values, self._alternating, "mains") / mains_v
        share = lamp_share(bench.lamp_scale(self.key) * admittance[columns], watts=watts, mains_v=mains_v)
        shape = (len(some), 1)
        value = share[:, None]
        doubt = (np.where(many.exact[columns], OWN_CYCLE_LAMP_SHARE, 0.0) * share)[:, None]
        known = many.solved[columns][:, None]
        everywhere = np.zeros((len(some), len(probes)), dtype=int)
        return Said(value, np.zeros((*shape, len(self.values))), known, doubt, everywhere)

    @property
    def _every(self) -> NDArray[np.intp]:
        """Return every row, for every column (column, joint)."""
        return np.tile(np.arange(self.many.columns.ground + 1), (self.many.columns.count, 1))

    @cached_property
    def _alternating(self) -> Numbers:
        """Return complex volts of every joint at mains frequency (joint, column)."""
        many = self.many
        return mains_volts(many.base, many.columns, many.values, many.answer, many.tones)

    @cached_property
    def _mains_about(self) -> Numbers:
        """Return the same with the tubes of the good build: a grid that mains drives into current is no resistor."""
        many = self.many
        return mains_volts(many.base, many.columns, many.values, tones=many.tones)

    @cached_property
    def _driven(self) -> NDArray[np.bool_]:
        """Return which wirings put the mains on a tube, by its heater or a winding: its hum is more than ripple."""
        many = self.many
        ports, t, p = many.columns.ports, len(many.base.system.triodes), len(many.base.system.pentodes)
        grids = np.r_[t : 2 * t, 2 * t + 2 * p : 2 * t + 3 * p]
        each, volts = np.arange(many.columns.count), self._mains_about
        across = np.abs(volts[ports.a[grids], each] - volts[ports.b[grids], each])
        return np.asarray(np.max(across, axis=0, initial=0.0) > DRIVEN_V)

    @cached_property
    def _rippling(self) -> Array:
        """Return what rides on the direct volts of every joint (column, joint): ripple, and mains that strays there."""
        return _rms([self._alternating.T, *self._full_wave])

    @cached_property
    def _full_wave(self) -> list[Numbers]:
        """Return the complex ripple of every joint at each multiple of the mains frequency (column, joint)."""
        many = self.many
        return [
            harmonic_volts(many.base, many.columns, many.values, many.answer, amps, self._every, harmonic)
            for amps, harmonic in zip(many.tones[1:], TONES[1:], strict=True)
        ]

    def _own_cycle(self, columns: Chosen, share: float) -> Array:
        """Return a share for columns whose rectifiers are not those of the good build, none for others (column, 1)."""
        return np.where(self.many.exact[columns][:, None], share, 0.0)

    def _of_mains(self, value: Array, columns: Chosen, tips: Tips, doubt: Array) -> Said:
        """Return what follows the mains."""
        by = np.zeros((*value.shape, len(self.values)))
        if MAINS in self.values:
            by[:, :, self.values.index(MAINS)] = value
        solved = np.broadcast_to(self.many.solved[columns][:, None], value.shape)
        return self._told(value, by, solved, tips, np.where(np.isfinite(doubt), doubt, 0.0))

    def _told(self, value: Array, by_value: Array, known: NDArray[np.bool_], tips: Tips, doubt: Array) -> Said:
        """Return it with tips that stand on nothing or on one joint; what is no number is not known."""
        still = tips.same | tips.alone
        number = ~np.isnan(value)
        shown = np.where(tips.same | ~number, 0.0, value)
        return Said(
            shown,
            np.where((still | ~number)[:, :, None] | ~np.isfinite(by_value), 0.0, by_value),
            (known & number) | still,
            np.where(still, 0.0, doubt),
            tips.place,
        )


_QUANTITIES: Mapping[str, Callable[[StepAnswers, Sequence[Probe], Chosen], Said]] = {
    "ohm": StepAnswers._ohm,
    "V dc": StepAnswers._dc,
    "V ac": StepAnswers._ac,
    "ripple V ac": StepAnswers._ripple,
    "signal V ac": StepAnswers._signal,
    "lamp": StepAnswers._lamp,
}


def _rms(tones: Sequence[Numbers]) -> Array:
    """Return what several tones are together."""
    return np.asarray(np.sqrt(sum(np.abs(volts) ** 2 for volts in tones)))
