"""Blocks of builds solved on other machines, through dask.distributed where it is installed."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from typing import Any

from lugwright.errors import LugwrightError

PATIENCE_S = 10.0


class ClusterError(LugwrightError):
    """The other machines cannot be used."""


@contextmanager
def workers_at(address: str) -> Iterator[Callable[[Callable[[Any], Any], Sequence[Any]], Sequence[Any]]]:
    """Yield something that calls a function on many things on the cluster whose scheduler listens there.

    Raises
    ------
    ClusterError
        The package is not installed, or no scheduler answers.
    """
    try:
        from distributed import Client
    except ImportError as error:
        raise ClusterError(
            what="other machines cannot be used",
            found="the package 'distributed' is not installed",
            wanted="lugwright installed with its extra 'cluster', here and on every worker",
            do="install it, or leave --cluster out: the numbers are the same",
        ) from error
    try:
        client: Any = Client(address, timeout=PATIENCE_S, set_as_default=False)  # type: ignore[no-untyped-call]
    except (OSError, ValueError) as error:
        raise ClusterError(
            what="no cluster answers",
            found=f"{address}: {error or type(error).__name__}",
            wanted="the address of a running scheduler, such as tcp://192.168.1.20:8786",
            do="start the scheduler, or leave --cluster out: the numbers are the same",
        ) from error
    with client:

        def work(function: Callable[[Any], Any], things: Sequence[Any], /) -> Sequence[Any]:
            return list(client.gather(client.map(function, things, pure=False)))

        yield work
