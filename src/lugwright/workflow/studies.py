"""Studies of an opened build with figures of one's own: other starts, more draws."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

from lugwright.bringup.cluster import workers_at
from lugwright.bringup.ohms_chart import ohms_between
from lugwright.bringup.reading_points import ReadingPoints
from lugwright.bringup.results import OhmsChart, Spread
from lugwright.bringup.spread import DRAWS, SEED, spread
from lugwright.bringup.start_cases import standing_by, with_silicon
from lugwright.circuit.starting import Start
from lugwright.solve.power import AS_BUILT, power_or_reason
from lugwright.solve.power_results import NoPower, Power, PowerWish
from lugwright.solve.response_results import AmplifierResponse, ResponseWish
from lugwright.solve.study import at_full_power, has_signal_path
from lugwright.workflow.opened import Opened


def start_standing_by(opened: Opened, closed_at_s: float) -> Start:
    """Return the start with the standby switch closed late; see `bringup.start_cases`."""
    return standing_by(opened.measured, opened.circuit, opened.idle, opened.cold_idle, closed_at_s)


def start_with_silicon(opened: Opened) -> Start:
    """Return the start with silicon in place of every rectifier tube; see `bringup.start_cases`."""
    return with_silicon(opened.measured, opened.circuit)


def ohms_at(opened: Opened, points: Sequence[str]) -> OhmsChart:
    """Return what an ohmmeter reads with the plug out at points as builders say them, ``V1 pin 6 to A.4``.

    Raises
    ------
    NoSuchPoint
        The build has no such point, or nothing is joined to it.
    """
    known = ReadingPoints(opened.written, opened.stored_plan)
    return ohms_between(opened.measured, opened.circuit, [known.held(each) for each in points])


def spread_of_builds(opened: Opened, *, draws: int = DRAWS, seed: int = SEED, cluster: str | None = None) -> Spread:
    """Return how far readings move among that many good builds, solved here or on a cluster.

    Raises
    ------
    ClusterError
        The cluster cannot be used.
    """
    if (draws, seed, cluster) == (DRAWS, SEED, None):
        return opened.spread
    study = partial(spread, opened.measured, opened.circuit, opened.solved, opened.cold_idle, draws=draws, seed=seed)
    if cluster is None:
        return study()
    with workers_at(cluster) as workers:
        return study(workers=workers)


def power_or_why_not(opened: Opened, wish: PowerWish) -> Power | NoPower:
    """Return the output power, or in words why there is none."""
    kept = opened.power_answer if wish == AS_BUILT else None
    return kept or power_or_reason(opened.measured, wish)


def rest_and_hiss(
    opened: Opened, *, guitar_ohm: float | None, watts: float | None, dummy: bool
) -> AmplifierResponse | None:
    """Return what small signals do with that much resistance plugged in; None without an input jack or a speaker.

    The hiss is held against ``watts``, or against the power that was computed; ``dummy``: a resistor is the load.
    """
    if not has_signal_path(opened.measured):
        return None
    wish = ResponseWish(resistive_speaker=dummy, guitar_ohm=guitar_ohm, full_power_w=watts)
    response = opened.response_to(wish)
    return response if watts is not None else at_full_power(response, opened.power_answer)
