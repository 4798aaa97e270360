"""Studies of an opened build with figures of one's own: other starts, more draws."""

from __future__ import annotations

from functools import partial

from lugwright.bringup.cluster import workers_at
from lugwright.bringup.results import Spread
from lugwright.bringup.spread import DRAWS, SEED, spread
from lugwright.bringup.start_cases import standing_by, with_silicon
from lugwright.circuit.starting import Start
from lugwright.workflow.opened import Opened


def start_standing_by(opened: Opened, closed_at_s: float) -> Start:
    """Return the start with the standby switch closed late; see `bringup.start_cases`."""
    return standing_by(opened.measured, opened.circuit, opened.idle, opened.cold_idle, closed_at_s)


def start_with_silicon(opened: Opened) -> Start:
    """Return the start with silicon in place of every rectifier tube; see `bringup.start_cases`."""
    return with_silicon(opened.measured, opened.circuit)


def spread_of_builds(opened: Opened, *, draws: int = DRAWS, seed: int = SEED, cluster: str | None = None) -> Spread:
    """Return how far readings move among that many good builds, solved here or on a cluster.

    Raises
    ------
    ClusterError
        The cluster cannot be used.
    """
    study = partial(spread, opened.measured, opened.circuit, opened.solved, opened.cold_idle, draws=draws, seed=seed)
    if cluster is None:
        return study()
    with workers_at(cluster) as workers:
        return study(workers=workers)
