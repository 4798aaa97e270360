"""What follows from a build's circuit alone: idle, charts, response, power. It knows no plan and no log."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from lugwright.bringup.before_mains import COUNT
from lugwright.bringup.good_builds import SHARE
from lugwright.bringup.idle_setting import idle_setting
from lugwright.bringup.ohms_chart import ohms_chart
from lugwright.bringup.results import IdleSetting, OhmsChart, Spread, Step
from lugwright.bringup.spread import spread
from lugwright.bringup.voltage_chart import power_up_steps
from lugwright.buildfile.build import Build, Inlet
from lugwright.circuit.edits import Edit, ScaleValue, pulled
from lugwright.circuit.elements import PentodeTube, TriodeTube
from lugwright.circuit.from_build import circuit_from_build
from lugwright.circuit.heated import heated_parts
from lugwright.circuit.network import Circuit
from lugwright.circuit.operating import Idle
from lugwright.circuit.rules.mains_swing import MAINS_LOW, MainsSwing
from lugwright.circuit.starting import Start
from lugwright.errors import NoIdlePoint
from lugwright.kept_answers import KeptAnswers, kept_answers, kept_property
from lugwright.solve import by_machine
from lugwright.solve.cold_start import solve_start
from lugwright.solve.idle import solve_columns, solve_idle
from lugwright.solve.plate_curves import plate_curves
from lugwright.solve.power import AS_BUILT, output_power, power_or_reason
from lugwright.solve.power_results import NoPower, Power, PowerWish
from lugwright.solve.readout import read_idle
from lugwright.solve.response_results import AmplifierResponse, ResponseWish
from lugwright.solve.results import PlateCurves
from lugwright.solve.solved import Solved
from lugwright.solve.study import Study, has_signal_path

MAINS_HIGH = 1.1


@dataclass(frozen=True, eq=False)
class Computed:
    """A build's circuit and everything computed from it; each answer is worked out when it is first asked for.

    It can be handed to another process, which needs to load nothing that reads files, plans or draws.
    """

    build: Build  # as it stands on the bench, without the metal
    stated_mains_v: float

    @cached_property
    def kept(self) -> KeptAnswers:
        """Return where answers are kept for the next run: those of this circuit, wherever its parts stand."""
        return kept_answers((self.build, self.stated_mains_v, by_machine.loaded()))  # which may differ in a last figure

    @cached_property
    def circuit(self) -> Circuit:
        """Return the circuit of the build."""
        return circuit_from_build(self.build)

    @cached_property
    def _solved(self) -> list[Solved]:
        sections = tuple(e.name for e in self.circuit.elements if isinstance(e, TriodeTube | PentodeTube))
        return solve_columns(self.circuit, [Edit("as built"), pulled("cold tubes", sections)])

    @property
    def solved(self) -> Solved:
        """Return the solved circuit behind `idle`, for what is computed around that point."""
        return self._solved[0]

    @kept_property
    def _idles(self) -> list[Idle]:
        return [read_idle(solved) for solved in self._solved]

    @property
    def idle(self) -> Idle:
        """Return the idle of the build as described."""
        return self._idles[0]

    @property
    def cold_idle(self) -> Idle:
        """Return the idle with every amplifying tube cold: the first seconds, before the heaters are warm."""
        return self._idles[1]

    @property
    def _is_on_mains(self) -> bool:
        return any(isinstance(part.values, Inlet) for part in self.build.parts)

    @kept_property
    def mains_swing(self) -> MainsSwing | None:
        """Return the idles with mains 10 percent low and high; None without mains, or where one has no idle."""
        if not self._is_on_mains:
            return None
        nominal = self.stated_mains_v / self.build.mains_v  # low and high are of the stated mains, not of today's
        edits = [
            Edit(f"mains {share:.0%}", (ScaleValue("mains", "rms_v", share * nominal),))
            for share in (MAINS_LOW, MAINS_HIGH)
        ]
        try:
            low, high = solve_idle(self.circuit, edits)
        except NoIdlePoint:
            return None
        return MainsSwing(low, self.idle, high)

    @cached_property
    def start(self) -> Start | None:
        """Return the first minute after switch-on and the one after switch-off; None for a build without mains."""
        if not self._is_on_mains:
            return None
        return solve_start(self.circuit, heated_parts(self.build, self.circuit), self.idle, self.cold_idle)

    @kept_property
    def started(self) -> Start | None:
        """Return the start, None where it cannot be followed."""
        try:
            return self.start
        except NoIdlePoint:
            return None

    @kept_property
    def plate_curves(self) -> tuple[PlateCurves, ...]:
        """Return the plate curves of every tube section, with its load lines."""
        return plate_curves(self.build, self.solved, self.idle)

    @kept_property
    def ohms_chart(self) -> OhmsChart:
        """Return the power-off chart."""
        return ohms_chart(self.build, self.circuit)

    @kept_property
    def steps(self) -> tuple[Step, ...]:
        """Return the steps of the first power-up with the plug in."""
        return self.steps_for(SHARE)

    def steps_for(self, share: float) -> tuple[Step, ...]:
        """Return `steps` with windows that another share of good builds falls in."""
        return tuple(power_up_steps(self.build, self.solved, self.idle, first=COUNT + 1, share=share))

    @kept_property
    def idle_setting(self) -> IdleSetting | None:
        """Return how the idle of the output tubes is set."""
        return idle_setting(self.build, self.solved, self.idle, self.cold_idle)

    @kept_property
    def response(self) -> AmplifierResponse | None:
        """Return what small signals tell of the build; None when it has no input jack or no speaker."""
        return Study(self.build, self.solved, ResponseWish()).response() if has_signal_path(self.build) else None

    def response_to(self, wish: ResponseWish) -> AmplifierResponse:
        """Return what small signals tell between points and at knobs of one's own.

        Raises
        ------
        CircuitError
            A point or knob that the build does not have.
        NoIdlePoint
            A setting of the knobs without an idle.
        """
        usual = self.response if wish == ResponseWish() else None
        return usual or Study(self.build, self.solved, wish).response()

    @kept_property
    def power_answer(self) -> Power | NoPower | None:
        """Return the output power, or why there is none; None when there is no input jack or no speaker."""
        return power_or_reason(self.build) if has_signal_path(self.build) else None

    def power_to(self, wish: PowerWish) -> Power:
        """Return the output power into a load and at a frequency of one's own.

        Raises
        ------
        NoSteadyState
            There is none, or none is promised.
        """
        usual = self.power_answer if wish == AS_BUILT else None
        return usual if isinstance(usual, Power) else output_power(self.build, wish)

    @kept_property
    def spread(self) -> Spread:
        """Return how far readings move among good builds."""
        return spread(self.build, self.circuit, self.solved, self.cold_idle)
