"""Which signs each hypothesis shows: those its faults are listed with, and what its circuit does to the loudspeaker."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from lugwright.bringup.signs import Sign, signs_of
from lugwright.bringup.trace.ahead import Ahead
from lugwright.bringup.trace.bench import FINAL, SIGNAL, TraceBench
from lugwright.bringup.trace.even_scale import plain
from lugwright.bringup.trace.groups import GOOD
from lugwright.bringup.trace.hypotheses import Hypothesis
from lugwright.bringup.trace.records import Array, Probe
from lugwright.bringup.trace.sign_rates import CONFUSED, RATES, UNKNOWN, UNLISTED, faint_share, hum_share, silent_share
from lugwright.bringup.trace.told_signs import SignChances
from lugwright.buildfile.build import Speaker

Lumped = Callable[[Sequence[Probe], NDArray[np.int_]], Ahead]
LEAST_V = 1e-9  # of a good build's signal at its loudspeaker


@dataclass(frozen=True, eq=False)
class SignPredictor:
    """What signs the hypotheses of one build show; each worked out when it is first asked for."""

    bench: TraceBench
    hypotheses: tuple[Hypothesis, ...]
    lumped: Lumped
    kept: dict[str, Array] = field(default_factory=dict)

    @cached_property
    def by_name(self) -> Mapping[str, Sign]:
        """Return the signs of the build by their names."""
        return {sign.name: sign for sign in signs_of(self.bench.build)}

    def of(self, names: Sequence[str]) -> SignChances:
        """Return how likely a yes to each of some signs is under every hypothesis.

        Parameters
        ----------
        names : sequence of str
            Of signs of this build.

        Returns
        -------
        SignChances
            In the order asked for.

        Valid
        -----
        All tubes in, mains on; what is heard, with controls as the build file sets them.

        Source
        ------
        The faults' own signs; hum and signal at the loudspeaker as solved; `sign_rates`.
        """
        for name in names:
            if name not in self.kept:
                self.kept[name] = self._chance(self.by_name[name])
        chance = [self.kept[name] for name in names]
        rates = [RATES[self.by_name[name].kind] for name in names]
        unlisted = np.array([rate.invented + UNLISTED * (rate.told - rate.invented) for rate in rates])
        return SignChances(np.array(chance).reshape(len(names), -1).T, unlisted)

    def _chance(self, sign: Sign) -> Array:
        """Return the chance of a yes under every hypothesis."""
        rate, share = RATES[sign.kind], self._there(sign.name)
        chance = rate.invented + (rate.told - rate.invented) * np.maximum(share, self._computed(sign.kind))
        for (asked, there), confused in CONFUSED.items():
            if asked == sign.kind and sign.part:
                chance = np.maximum(chance, confused * self._there(f"{there} {sign.part}".strip()))
        return chance

    def _there(self, name: str) -> Array:
        return np.array([any(name in fault.shows for fault in h.faults) for h in self.hypotheses], dtype=float)

    def _computed(self, kind: str) -> Array:
        """Return how many builders tell it by what the circuit does to the loudspeaker."""
        nothing = np.zeros(len(self.hypotheses))
        if not self._speaker:
            return nothing
        if kind == "hum" and FINAL in self.bench.steps:
            volts, known = self._hum
            return np.where(known, hum_share(volts), UNKNOWN)
        if kind in ("silent", "faint") and SIGNAL in self.bench.steps:
            share, known = self._loudness
            return np.where(known, (silent_share if kind == "silent" else faint_share)(share), UNKNOWN)
        return nothing

    @cached_property
    def _speaker(self) -> tuple[str, ...]:
        part = next((part for part in self.bench.build.parts if isinstance(part.values, Speaker)), None)
        return () if part is None else tuple(part.terminal(name).joint for name in ("plus", "minus"))

    @cached_property
    def _hum(self) -> tuple[Array, NDArray[np.bool_]]:
        """Return ripple and mains together at the loudspeaker, and where one of them is known. [V]"""
        ripple, mains = self._volts(FINAL, "ripple V ac"), self._volts(FINAL, "V ac")
        square = sum(np.where(known, volts**2, 0.0) for volts, known in (ripple, mains))
        return np.sqrt(square), ripple[1] | mains[1]

    @cached_property
    def _loudness(self) -> tuple[Array, NDArray[np.bool_]]:
        """Return the signal at the loudspeaker, of that of the good build."""
        volts, known = self._volts(SIGNAL, "signal V ac")
        return volts / max(float(volts[GOOD]), LEAST_V), known

    def _volts(self, step: str, quantity: str) -> tuple[Array, NDArray[np.bool_]]:
        plus, minus = self._speaker
        probe = Probe(step, plus, minus, quantity, "loudspeaker", 0.0, 0.0)
        told = self.lumped([probe], np.arange(len(self.hypotheses)))
        return plain(quantity, told.mean[:, 0]), told.known[:, 0]
