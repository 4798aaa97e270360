"""How the idle of the output tubes is set, where to read it, and how far the bias control reaches."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from lugwright.bringup.bias_control import control_words
from lugwright.bringup.good_builds import running_factors, window
from lugwright.bringup.idle.advice import advice
from lugwright.bringup.idle.at_edit import AtEdit
from lugwright.bringup.idle.measured import Bench, bench_of
from lugwright.bringup.idle.reach import out_of_reach, reach_rows
from lugwright.bringup.idle.stage import OutputTube, Stage, output_stage
from lugwright.bringup.idle.targets import target_of
from lugwright.bringup.idle.turning import Control
from lugwright.bringup.idle_results import Target
from lugwright.bringup.results import IdleRow, IdleSetting
from lugwright.buildfile.build import Build
from lugwright.circuit.operating import Idle
from lugwright.solve.many import solve_many
from lugwright.solve.solved import Solved

ROTATIONS = (0.0, 0.25, 0.5, 0.75, 1.0)  # shares of a bias control's turn


def idle_setting(
    build: Build, solved: Solved, idle: Idle, cold: Idle | None = None, *, wish: str = "middle"
) -> IdleSetting | None:
    """Return how the idle of the output tubes is set, or None where no output tube is.

    Parameters
    ----------
    build : Build
        The build.
    solved : Solved
        Its circuit solved, all tubes in, full mains.
    idle : Idle
        The idle read from that.
    cold : Idle or None
        The same with cold tubes, for what B+ is without load.
    wish : str
        A taste (cool, middle, hot) or a share of the plate limit (60%).

    Returns
    -------
    IdleSetting or None
        One row for each output tube.

    Raises
    ------
    NoIdlePoint
        A position of a bias control, or a draw of the tolerances, has no certified idle point.
    ReadingError
        The wish is no target.
    """
    stage = output_stage(build, solved.system.circuit, idle)
    if stage is None:
        return None
    target = target_of(stage, wish)
    bench = bench_of(build, stage, AtEdit(solved, idle), cold or idle, {})
    controls = bench.controls
    shares = _share_windows(build, solved, stage)
    rows = tuple(_row(tube, bench.at, shares[tube.name]) for tube in stage.tubes)
    travels = tuple(_travel(bench, control) for control in controls)
    reach = reach_rows(stage, bench.at, controls)
    short = tuple(words for control in travels for words in control.out_of_reach(target))
    return IdleSetting(
        method="fixed bias" if stage.fixed else "cathode bias",
        rows=rows,
        bias_range=tuple(row for travel in travels for row in travel.rows),
        target=target.words,
        cautions=(*(short or out_of_reach(reach, controls, target)), *_cautions(rows, bench, controls)),
        advice=advice(stage, bench.at, controls, bench.cold, wish),
        reach=reach,
    )


def _row(tube: OutputTube, at: AtEdit, shares: tuple[float, float]) -> IdleRow:
    now, state = at.idle.tubes[tube.name], at.state(tube)
    words = f"{tube.pin('cathode')} to ground"
    if tube.sense is not None:
        if tube.sense.low != at.solved.system.circuit.ground:
            words = f"{tube.pin('cathode')} to the other end of {tube.sense.name}, not to ground"
        words += f", across {tube.sense.name} ({tube.sense.ohm:g} ohm; the reading includes screen current)"
    return IdleRow(
        tube=tube.name,
        cathode_point=words,
        cathode_reading_mv=None if tube.sense is None else 1e3 * now.cathode_a * tube.sense.ohm,
        cathode_a=now.cathode_a,
        plate_a=now.plate_a,
        screen_a=now.screen_a,
        plate_to_cathode_v=now.plate_to_cathode_v,
        plate_w=now.plate_w,
        plate_limit_w=tube.plate_limit_w,
        share=state.share,
        low_share=min(shares[0], state.share),
        high_share=max(shares[1], state.share),
        cathode_v=at.volts(tube.cathode, at.solved.system.circuit.ground),
    )


def _share_windows(build: Build, solved: Solved, stage: Stage) -> Mapping[str, tuple[float, float]]:
    """Return between which shares of its plate limit each tube idles, over part values, tubes and mains."""
    many = solve_many(solved, running_factors(build, solved.system.circuit))
    volts, amps = many.tubes.pentode_v[0], many.tubes.pentode_a[0]
    rows = {tube.name: row for row, tube in enumerate(solved.system.pentodes)}
    return {t.name: window(volts[rows[t.name]] * amps[rows[t.name]] / t.plate_limit_w) for t in stage.tubes}


@dataclass(frozen=True)
class _Travel:
    """One bias control from stop to stop: what it does to the tube it moves most."""

    control: str
    tube: str
    rows: tuple[tuple[str, float, float, float], ...]
    shares: tuple[float, ...]  # of the plate limit, at each position

    def out_of_reach(self, target: Target) -> Iterator[str]:
        """Yield words where no position of the control idles the tube within the target."""
        if max(self.shares) < target.least:
            yield (
                f"{self.control} brings {self.tube} to {max(self.shares):.0%} of its plate limit and no further: the "
                "target is out of its reach. Change the resistors around it, so that the bias gets less negative."
            )
        if min(self.shares) > target.most:
            yield (
                f"{self.control} leaves {self.tube} at {min(self.shares):.0%} of its plate limit even at its most "
                "negative: the target is out of its reach. Change the resistors around it, so that the bias gets more "
                "negative, before an output tube goes in."
            )


def _travel(bench: Bench, control: Control) -> _Travel:
    tube = control.tubes[0]
    places = [bench.at.turned({control.name: share}, {control.name: control.part}) for share in ROTATIONS]
    states = [place.state(tube) for place in places]
    rows = tuple((control.words, at, s.grid_v, 1e3 * s.plate_a) for at, s in zip(ROTATIONS, states, strict=True))
    return _Travel(control_words(control.part), tube.name, rows, tuple(s.share for s in states))


def _cautions(rows: tuple[IdleRow, ...], bench: Bench, controls: Sequence[Control]) -> Iterator[str]:
    yield (
        "Idle is read with the amplifier live. Clip the meter on with the plug out and below 60 V measured on every "
        "filter capacitor; one hand in the pocket after that, speaker connected."
    )
    if bench.stage.fixed:
        yield "Start at the most negative bias, turn slowly, wait a minute after each turn: tubes drift as they warm."
    if controls:
        yield "At the least negative end of the control the tubes may run far over their limit: never rest there."
    if any(row.cathode_reading_mv is not None for row in rows):
        yield (
            "The cathode resistor carries screen current too: plate current is the reading less the screen's share, so "
            "a setting by the reading errs to the safe side."
        )
    if any(row.high_share > 1.0 for row in rows):
        names = ", ".join(row.tube for row in rows if row.high_share > 1.0)
        yield f"A strong tube on high mains takes {names} over the plate limit: measure, do not assume."
    yield "A plate that glows red means far too much current: switch off at once."
