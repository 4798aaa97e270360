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
from lugwright.bringup.trace.reading_noise import own_doubt
from lugwright.bringup.trace.records import Array, Predictions, Probe
from lugwright.bringup.trace.sign_predictions import SignPredictor
from lugwright.bringup.trace.step_answers import Said, StepAnswers, Value
from lugwright.circuit.elements import Windings
from lugwright.second_process import Helper

EVEN_DRAW = 1.0 / np.sqrt(3.0)  # standard deviation of an even draw between -1 and 1
PREPARED_ONCE = 24  # probes worked out together
LEAST_SPREAD = 1e-9  # in the unit: below this nothing spreads
FEW_SHARE = 0.4  # of all hypotheses; when more than that have been asked for in parts, a step is solved whole
POOLS = 3  # of pairs that are kept
LEAST_NOISE = 0.003  # on the even scale: nobody reads better than to 0.3 percent


@dataclass(frozen=True)
class _Pairs:
    """Two hypotheses at once, several times, solved together."""

    pairs: tuple[tuple[int, int], ...]
    both: tuple[Hypothesis, ...]
    steps: dict[str, StepAnswers] = field(default_factory=dict)

    def holds(self, pairs: Sequence[tuple[int, int]]) -> bool:
        """Return whether all of some pairs are among these."""
        return set(pairs) <= set(self.pairs)

    def places(self, pairs: Sequence[tuple[int, int]]) -> NDArray[np.int_]:
        """Return where some pairs stand among these."""
        place = {pair: k for k, pair in enumerate(self.pairs)}
        return np.array([place[pair] for pair in pairs], dtype=int)


@dataclass(frozen=True)
class _Part:
    """One step, solved for some hypotheses (in rising order) only."""

    chosen: NDArray[np.int_]
    step: StepAnswers


@dataclass(frozen=True, eq=False)
class Predictor:
    """Predictions of the hypotheses of a build, each step solved when something of it is first asked for."""

    bench: TraceBench
    probes: tuple[Probe, ...]
    hypotheses: tuple[Hypothesis, ...]
    steps: dict[str, StepAnswers] = field(default_factory=dict)
    kept: dict[Probe, Predictions] = field(default_factory=dict)  # of all hypotheses, for what has been read
    parts: dict[str, list[_Part]] = field(default_factory=dict)  # steps solved for some hypotheses only
    pools: list[_Pairs] = field(default_factory=list)  # pairs that were asked for last

    @cached_property
    def causes(self) -> tuple[Cause, ...]:
        """Return everything that differs from good build to good build."""
        copper = [
            Cause(coil.name, copper_spread(self.bench.build, element.name, coil.name), ((coil.name, "ohm"),))
            for element in self.bench.circuit.elements
            if isinstance(element, Windings)
            for coil in element.coils
        ]
        return (*causes_of(self.bench.build, self.bench.circuit), *copper)

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

    def predictions(self, probes: Sequence[Probe], some: NDArray[np.int_] | None = None) -> Predictions:
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
            for at, part in self._parts(self.steps, self.hypotheses, [p for p in probes if p not in self.kept], whole):
                self.kept.update({part.probes[k]: _narrowed(part, whole, [k]) for k in range(len(at))})
        known = (([k], _narrowed(self.kept[p], chosen, [0])) for k, p in enumerate(probes) if p in self.kept)
        fresh = [k for k, p in enumerate(probes) if p not in self.kept]
        worked_out = [(fresh, self._close.of([probes[k] for k in fresh], chosen))] if fresh else []
        return _collected(probes, len(chosen), len(self.causes), chain(known, worked_out))

    def prepare(self) -> None:
        """Work out the spread of every probe under every hypothesis, once for many tracings."""
        whole = np.arange(len(self.hypotheses))
        for first in range(0, len(self.probes), PREPARED_ONCE):
            self.lumped(self.probes[first : first + PREPARED_ONCE], whole)

    def lumped(self, probes: Sequence[Probe], some: NDArray[np.int_]) -> Ahead:
        """Return what some hypotheses say of probes, all spread of each reading in one figure.

        Parameters
        ----------
        probes : sequence of Probe
            What is read.
        some : array of int
            Places in `hypotheses`.

        Returns
        -------
        Ahead
            Mean and standard deviation on the even scale.

        Source
        ------
        `predictions`: variances of independent causes add up.
        """
        return self._ahead.of(probes, np.asarray(some, dtype=int))

    @cached_property
    def _close(self) -> KeptClose:
        def work_out(probes: Sequence[Probe], some: NDArray[np.int_]) -> Predictions:
            parts = self._parts(self.steps, self.hypotheses, probes, some)
            return _collected(probes, len(some), len(self.causes), parts)

        return KeptClose(len(self.hypotheses), len(self.causes), work_out)

    @cached_property
    def _ahead(self) -> KeptAhead:
        return KeptAhead(len(self.hypotheses), self._lumped)

    def _lumped(self, probes: Sequence[Probe], some: NDArray[np.int_]) -> Ahead:
        shape = (len(some), len(probes))
        mean, sd, known = np.zeros(shape), np.ones(shape), np.zeros(shape, dtype=bool)
        for at, part in self._parts(self.steps, self.hypotheses, probes, some):
            mean[:, at], known[:, at] = part.expected, part.known
            sd[:, at] = np.sqrt(np.einsum("hpc,hpc->hp", part.loading, part.loading) + part.noise**2)
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
        pool = next((pool for pool in self.pools if pool.holds(pairs)), None)
        if pool is None:
            both = (together(self.bench.circuit, self.hypotheses[i], self.hypotheses[j]) for i, j in pairs)
            pool = _Pairs(tuple(pairs), tuple(both))
            self.pools[:] = [pool, *self.pools[: POOLS - 1]]
        parts = self._parts(pool.steps, pool.both, probes, pool.places(pairs))
        return _collected(probes, len(pairs), len(self.causes), parts)

    def _parts(
        self,
        steps: dict[str, StepAnswers],
        hypotheses: tuple[Hypothesis, ...],
        probes: Sequence[Probe],
        some: NDArray[np.int_],
    ) -> Iterator[tuple[list[int], Predictions]]:
        """Yield predictions of the probes of each step and quantity with their places."""
        kinds: dict[tuple[str, str], list[int]] = {}
        for place, probe in enumerate(probes):
            kinds.setdefault((probe.step, probe.quantity), []).append(place)
        for (key, quantity), at in kinds.items():
            mine = [probes[k] for k in at]
            step = self._answers(steps, hypotheses, key)
            places = some
            if steps is self.steps and quantity != "ohm" and key != SIGNAL and not step.is_solved:
                step, places = self._few(step, some)
            yield at, self._evened(quantity, mine, step.said(quantity, mine, places))

    def _few(self, whole: StepAnswers, some: NDArray[np.int_]) -> tuple[StepAnswers, NDArray[np.int_]]:
        """Return a step solved for some hypotheses only, and their places in it; the whole step where that is no gain.

        Of a step in which nothing was read only the hypotheses worth telling apart are asked for.
        """
        parts = self.parts.setdefault(whole.key, [])
        part = next((part for part in parts if np.isin(some, part.chosen).all()), None)
        if part is None:
            if sum(len(p.chosen) for p in parts) + len(some) > FEW_SHARE * len(self.hypotheses):
                return whole, some
            chosen = np.unique(some)
            few = tuple(self.hypotheses[h] for h in chosen)
            part = _Part(chosen, StepAnswers(self.bench, whole.key, few, self.values))
            parts.append(part)
        return part.step, np.searchsorted(part.chosen, some)

    def solve_for(self, probes: Iterable[Probe], helper: Helper | None = None) -> None:
        """Solve every hypothesis in the steps whose volts some probes read, with the help of a second process.

        Raises
        ------
        NoIdlePoint
            A step has none.
        """
        keys = dict.fromkeys(probe.step for probe in probes if probe.step != OHMS and probe.quantity != SIGN)
        live = [self._answers(self.steps, self.hypotheses, key) for key in keys]
        solve_beside([step.final or step for step in live], helper)

    def _answers(self, steps: dict[str, StepAnswers], hypotheses: tuple[Hypothesis, ...], key: str) -> StepAnswers:
        """Return a step, set up when it is first asked for; steps of one circuit are solved once."""
        if key not in steps:
            same = next((steps[other] for other in self.bench.wired_alike(key) if other in steps), None)
            final = self._answers(steps, hypotheses, FINAL) if key == SIGNAL else None
            steps[key] = same or StepAnswers(self.bench, key, hypotheses, self.values, final)
        return steps[key]

    def _evened(self, quantity: str, probes: Sequence[Probe], said: Said) -> Predictions:
        """Return what was said, on the even scale."""
        by_cause = said.by_value @ self.extents
        spread = np.sqrt(np.einsum("hpc,hpc->hp", by_cause, by_cause))
        wide = np.maximum(spread, LEAST_SPREAD)
        held = blur(quantity, said.value, wide) / wide  # what a spread that reaches past zero still is
        noise = np.maximum(
            blur(quantity, said.value, np.hypot(said.doubt, own_doubt(quantity, said.value))), LEAST_NOISE
        )
        return Predictions(tuple(probes), even(quantity, said.value), by_cause * held[:, :, None], noise, said.known)


def _collected(
    probes: Sequence[Probe], rows: int, causes: int, parts: Iterable[tuple[list[int], Predictions]]
) -> Predictions:
    shape = (rows, len(probes))
    expected, noise, known = np.zeros(shape), np.ones(shape), np.zeros(shape, dtype=bool)
    loading = np.zeros((*shape, causes))
    for at, part in parts:
        expected[:, at], noise[:, at], known[:, at] = part.expected, part.noise, part.known
        loading[:, at] = part.loading
    return Predictions(tuple(probes), expected, loading, noise, known)


def _narrowed(part: Predictions, some: NDArray[np.int_], probes: list[int]) -> Predictions:
    at = np.ix_(some, np.array(probes, dtype=int))
    chosen = tuple(part.probes[k] for k in probes)
    return Predictions(chosen, part.expected[at], part.loading[at], part.noise[at], part.known[at])
