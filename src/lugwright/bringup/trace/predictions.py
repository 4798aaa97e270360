"""What every hypothesis says of the probes, on the even scale, with what spreads it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from itertools import chain

import numpy as np
from numpy.typing import NDArray

from lugwright.bringup.good_builds import copper_spread
from lugwright.bringup.reading_words import SIGN
from lugwright.bringup.spread_causes import Cause, causes_of
from lugwright.bringup.trace.ahead import Ahead
from lugwright.bringup.trace.bench import FINAL, OHMS, SIGNAL, TraceBench
from lugwright.bringup.trace.beside import solve_beside
from lugwright.bringup.trace.even_scale import blur, even
from lugwright.bringup.trace.hypotheses import Hypothesis, together
from lugwright.bringup.trace.kept_ahead import KeptAhead
from lugwright.bringup.trace.kept_close import KeptClose
from lugwright.bringup.trace.named_slips import NamedSlips
from lugwright.bringup.trace.parted import Chosen, Part, PartedStep
from lugwright.bringup.trace.reading_noise import own_doubt
from lugwright.bringup.trace.records import Array, Predictions, Probe
from lugwright.bringup.trace.sign_predictions import SignPredictor
from lugwright.bringup.trace.step_answers import Said, StepAnswers, Value
from lugwright.circuit.elements import Windings
from lugwright.second_process import Helper

EVEN_DRAW = 1.0 / np.sqrt(3.0)  # standard deviation of an even draw between -1 and 1
PREPARED_ONCE = 24  # probes worked out together
LEAST_SPREAD = 1e-9  # in the unit: below this nothing spreads
MOST_PAIRS = 300  # that are kept
LEAK, LEAK_EXTENT = "leak_s", 0.8  # a leak may be half or twice the one that stands for it: its logarithm, evenly
LEAST_NOISE = 0.003  # on the even scale: nobody reads better than to 0.3 percent


@dataclass(frozen=True)
class _Pairs:
    """Two hypotheses at once, several times; each is solved once, in the steps in which it is asked for."""

    places: dict[tuple[int, int], int] = field(default_factory=dict)
    both: list[Hypothesis] = field(default_factory=list)
    steps: dict[str, PartedStep] = field(default_factory=dict)


@dataclass(frozen=True)
class _Told:
    """What some rows of what was asked say at some of the probes: by spots, and where each probe reads."""

    rows: Chosen
    at: Chosen  # probes
    expected: Array  # (row, spot)
    loading: Array  # (row, spot, cause)
    noise: Array
    known: NDArray[np.bool_]
    place: Chosen  # (row, probe): the spot at which it reads


@dataclass(frozen=True, eq=False)
class Predictor:
    """Predictions of the hypotheses of a build, each step solved when something of it is first asked for."""

    bench: TraceBench
    probes: tuple[Probe, ...]
    hypotheses: tuple[Hypothesis, ...]
    steps: dict[str, StepAnswers] = field(default_factory=dict)
    kept: dict[Probe, Predictions] = field(default_factory=dict)  # of all hypotheses, for what has been read
    parted: dict[str, PartedStep] = field(default_factory=dict)  # steps solved for some hypotheses only
    pairs: list[_Pairs] = field(default_factory=list)  # those that were asked for last

    @cached_property
    def causes(self) -> tuple[Cause, ...]:
        """Return everything that differs from good build to good build."""
        copper = [
            Cause(coil.name, copper_spread(self.bench.build, element.name, coil.name), ((coil.name, "ohm"),))
            for element in self.bench.circuit.elements
            if isinstance(element, Windings)
            for coil in element.coils
        ]
        changes = (c for h in self.hypotheses for c in h.rewiring.changes if c.field == LEAK)
        leaks = [
            Cause(f"leak of {name}", LEAK_EXTENT, ((name, LEAK),)) for name in sorted({c.element for c in changes})
        ]
        return (*causes_of(self.bench.build, self.bench.circuit), *copper, *leaks)

    @cached_property
    def slips(self) -> NamedSlips:
        """Return the ways to take a reading wrongly, and what each would show."""
        return NamedSlips(self.bench, self.lumped, len(self.hypotheses))

    @cached_property
    def signs(self) -> SignPredictor:
        """Return what eyes and ears would tell under every hypothesis."""
        return SignPredictor(self.bench, self.hypotheses, self.lumped)

    @cached_property
    def values(self) -> tuple[Value, ...]:
        """Return the values that follow the causes."""
        return tuple(dict.fromkeys(value for cause in self.causes for value in cause.values))

    @cached_property
    def extents(self) -> Array:
        """Return how far one standard deviation of each cause moves each value's logarithm (value, cause)."""
        place = {value: k for k, value in enumerate(self.values)}
        table = np.zeros((len(self.values), len(self.causes)))
        for column, cause in enumerate(self.causes):
            for value in cause.values:
                table[place[value], column] = cause.extent * EVEN_DRAW
        return table

    def predictions(self, probes: Sequence[Probe], some: Chosen | None = None) -> Predictions:
        """Return what hypotheses (all, where none are named) say of probes.

        Parameters
        ----------
        probes : sequence of Probe
            What is read.
        some : array of int, optional
            Places in `hypotheses`.

        Returns
        -------
        Predictions
            In the order asked for.

        Valid
        -----
        Spreads are first order at each hypothesis's own solution, held in where they reach past zero.

        Source
        ------
        `lugwright.solve.rewired`; the doubts of `reading_noise`.
        """
        whole = np.arange(len(self.hypotheses))
        chosen = whole if some is None else np.asarray(some, dtype=int)
        if some is None:
            new = [p for p in dict.fromkeys(probes) if p not in self.kept]
            told = _collected(new, len(whole), len(self.causes), self._told(new, whole))
            self.kept.update({probe: _narrowed(told, whole, [k]) for k, probe in enumerate(new)})
        known = (([k], _narrowed(self.kept[p], chosen, [0])) for k, p in enumerate(probes) if p in self.kept)
        fresh = [k for k, p in enumerate(probes) if p not in self.kept]
        worked_out = [(fresh, self._close.of([probes[k] for k in fresh], chosen))] if fresh else []
        return _joined(probes, len(chosen), len(self.causes), chain(known, worked_out))

    def forget(self, probes: Sequence[Probe]) -> None:
        """Drop what all hypotheses say of probes; whoever asks again has it worked out again."""
        for probe in probes:
            self.kept.pop(probe, None)

    def prepare(self) -> None:
        """Work out the spread of every probe under every hypothesis, once for many tracings."""
        whole = np.arange(len(self.hypotheses))
        for first in range(0, len(self.probes), PREPARED_ONCE):
            self.lumped(self.probes[first : first + PREPARED_ONCE], whole)

    def by_circuit(self, probes: Sequence[Probe]) -> list[list[Probe]]:
        """Return probes in groups that ask for the same solutions."""
        found: dict[str, list[Probe]] = {}
        for probe in probes:
            found.setdefault(self.bench.wired_alike(probe.step)[0], []).append(probe)
        return list(found.values())

    def lumped(self, probes: Sequence[Probe], some: Chosen, *, in_passing: bool = False) -> Ahead:
        """Return what some hypotheses say of probes, all spread of each reading in one figure.

        Parameters
        ----------
        probes : sequence of Probe
            What is read.
        some : array of int
            Places in `hypotheses`.
        in_passing : bool
            What is solved for it is not kept, only what is returned.

        Returns
        -------
        Ahead
            Mean and standard deviation on the even scale.

        Source
        ------
        `predictions`: variances of independent causes add up.
        """
        before = {key: len(step.parts) for key, step in self.parted.items()}
        told = self._ahead.of(probes, np.asarray(some, dtype=int))
        if in_passing:
            for key, step in self.parted.items():
                del step.parts[before.get(key, 0) :]
        return told

    @cached_property
    def _close(self) -> KeptClose:
        def work_out(probes: Sequence[Probe], some: Chosen) -> Predictions:
            return _collected(probes, len(some), len(self.causes), self._told(probes, some))

        return KeptClose(len(self.hypotheses), len(self.causes), work_out)

    @cached_property
    def _ahead(self) -> KeptAhead:
        return KeptAhead(len(self.hypotheses), self._lumped)

    def _lumped(self, probes: Sequence[Probe], some: Chosen) -> Ahead:
        shape = (len(some), len(probes))
        mean, sd, known = np.zeros(shape), np.ones(shape), np.zeros(shape, dtype=bool)
        for told in self._told(probes, some):
            spread = np.sqrt(np.einsum("hpc,hpc->hp", told.loading, told.loading) + told.noise**2)
            cells = np.ix_(told.rows, told.at)
            for whole, by_spot in ((mean, told.expected), (sd, spread), (known, told.known)):
                whole[cells] = np.take_along_axis(by_spot, told.place, axis=1)
        return Ahead(mean, sd, known)

    def paired(self, pairs: Sequence[tuple[int, int]], probes: Sequence[Probe]) -> Predictions:
        """Return what two hypotheses at once say of probes, each pair solved as it is.

        Parameters
        ----------
        pairs : sequence of (int, int)
            Places in `hypotheses`.
        probes : sequence of Probe
            What is read.

        Returns
        -------
        Predictions
            One hypothesis for each pair.

        Source
        ------
        As `predictions`.
        """
        pool = self._pool(pairs)
        places = np.array([pool.places[pair] for pair in pairs], dtype=int)
        kinds: dict[tuple[str, str], list[int]] = {}
        for k, probe in enumerate(probes):
            kinds.setdefault((self.bench.wired_alike(probe.step)[0], probe.quantity), []).append(k)
        told = (self._by_spots(self._both(pool, key), probes, (q, at), places) for (key, q), at in kinds.items())
        return _collected(probes, len(pairs), len(self.causes), chain.from_iterable(told))

    def _pool(self, pairs: Sequence[tuple[int, int]]) -> _Pairs:
        """Return the pairs that were asked for before, with these among them; too many, and only these are kept."""
        fresh = [pair for pair in dict.fromkeys(pairs) if not self.pairs or pair not in self.pairs[0].places]
        if not self.pairs or len(self.pairs[0].both) + len(fresh) > MOST_PAIRS:
            self.pairs[:], fresh = [_Pairs()], list(dict.fromkeys(pairs))
        (pool,) = self.pairs
        for i, j in fresh:
            pool.places[i, j] = len(pool.both)
            pool.both.append(together(self.bench.circuit, self.hypotheses[i], self.hypotheses[j]))
        return pool

    def _both(self, pool: _Pairs, key: str) -> PartedStep:
        """Return a step in which pairs are solved."""

        def set_up(some: tuple[Hypothesis, ...]) -> StepAnswers:
            final = StepAnswers(self.bench, FINAL, some, self.values) if key == SIGNAL else None
            return StepAnswers(self.bench, key, some, self.values, final)

        return pool.steps.setdefault(key, PartedStep(pool.both, set_up))

    def _told(self, probes: Sequence[Probe], some: Chosen) -> Iterator[_Told]:
        """Yield what hypotheses say, the probes of one circuit and quantity together."""
        kinds: dict[tuple[int, str], list[int]] = {}
        steps: dict[int, StepAnswers] = {}
        for k, probe in enumerate(probes):
            step = self._answers(probe.step)
            steps[id(step)] = step
            kinds.setdefault((id(step), probe.quantity), []).append(k)
        for (which, quantity), at in kinds.items():
            yield from self._by_spots(self._parted(steps[which], quantity), probes, (quantity, at), some)

    def _by_spots(
        self, step: PartedStep, probes: Sequence[Probe], kind: tuple[str, list[int]], some: Chosen
    ) -> Iterator[_Told]:
        quantity, at = kind
        for share in step.shares(some):
            said = share.step.said(quantity, [probes[k] for k in at], share.places)
            yield self._evened(quantity, said, share.rows, np.array(at, dtype=int))

    def _parted(self, whole: StepAnswers, quantity: str) -> PartedStep:
        """Return a step that solves only the hypotheses asked for; where there is nothing to gain, all of them."""
        if quantity == "ohm" or whole.key == SIGNAL or whole.is_solved:
            every = Part(np.arange(len(self.hypotheses)), whole)
            return PartedStep(self.hypotheses, lambda _: whole, [every])

        def set_up(some: tuple[Hypothesis, ...]) -> StepAnswers:
            every = len(some) == len(self.hypotheses)
            return whole if every else StepAnswers(self.bench, whole.key, some, self.values)

        return self.parted.setdefault(whole.key, PartedStep(self.hypotheses, set_up))

    def solve_for(self, probes: Iterable[Probe], helper: Helper | None = None) -> None:
        """Solve every hypothesis in the steps whose volts some probes read, with the help of a second process.

        Raises
        ------
        NoIdlePoint
            A step has none.
        """
        keys = dict.fromkeys(probe.step for probe in probes if probe.step != OHMS and probe.quantity != SIGN)
        live = [self._answers(key) for key in keys]
        solve_beside([step.final or step for step in live], helper)

    def _answers(self, key: str) -> StepAnswers:
        """Return a step, set up when it is first asked for; steps of one circuit are solved once."""
        if key not in self.steps:
            same = next((self.steps[other] for other in self.bench.wired_alike(key) if other in self.steps), None)
            final = self._answers(FINAL) if key == SIGNAL else None
            self.steps[key] = same or StepAnswers(self.bench, key, self.hypotheses, self.values, final)
        return self.steps[key]

    def _evened(self, quantity: str, said: Said, rows: Chosen, at: Chosen) -> _Told:
        """Return what was said, on the even scale."""
        by_cause = said.by_value @ self.extents
        spread = np.sqrt(np.einsum("hpc,hpc->hp", by_cause, by_cause))
        wide = np.maximum(spread, LEAST_SPREAD)
        held = blur(quantity, said.value, wide) / wide  # what a spread that reaches past zero still is
        noise = np.maximum(
            blur(quantity, said.value, np.hypot(said.doubt, own_doubt(quantity, said.value))), LEAST_NOISE
        )
        expected = even(quantity, said.value)
        return _Told(rows, at, expected, by_cause * held[:, :, None], noise, said.known, said.place)


def _collected(probes: Sequence[Probe], rows: int, causes: int, parts: Iterable[_Told]) -> Predictions:
    """Return what was told by spots for every probe."""
    shape = (rows, len(probes))
    expected, noise, known = np.zeros(shape), np.ones(shape), np.zeros(shape, dtype=bool)
    loading = np.zeros((*shape, causes))
    for told in parts:
        cells, here = np.ix_(told.rows, told.at), (np.arange(len(told.rows))[:, None], told.place)
        expected[cells], noise[cells], known[cells] = told.expected[here], told.noise[here], told.known[here]
        loading[cells] = told.loading[here]
    return Predictions(tuple(probes), expected, loading, noise, known)


def _joined(
    probes: Sequence[Probe], rows: int, causes: int, parts: Iterable[tuple[list[int], Predictions]]
) -> Predictions:
    """Return what was told of some probes, and of others."""
    shape = (rows, len(probes))
    expected, noise, known = np.zeros(shape), np.ones(shape), np.zeros(shape, dtype=bool)
    loading = np.zeros((*shape, causes))
    for at, part in parts:
        expected[:, at], noise[:, at], known[:, at] = part.expected, part.noise, part.known
        loading[:, at] = part.loading
    return Predictions(tuple(probes), expected, loading, noise, known)


def _narrowed(part: Predictions, some: Chosen, probes: list[int]) -> Predictions:
    at = np.ix_(some, np.array(probes, dtype=int))
    chosen = tuple(part.probes[k] for k in probes)
    return Predictions(chosen, part.expected[at], part.loading[at], part.noise[at], part.known[at])
