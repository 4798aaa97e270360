"""A tube of which one current was measured at known volts."""

from __future__ import annotations

from dataclasses import asdict, replace

from lugwright.catalogue.records import PentodeLaw, Specimen, TriodeLaw, TubeLaw
from lugwright.circuit.tubes.pentode import pentode_currents_a
from lugwright.circuit.tubes.specimen import specimen_law
from lugwright.circuit.tubes.triode import triode_plate_current_a

LEAST_A = 1e-6  # at less the type's law says nothing of a specimen
EMISSIONS = (0.2, 3.0)  # shares of the type's current that a tube may have
ROUNDS = 12


def measured_specimen(
    law: TubeLaw | None,
    known: Specimen | None,
    *,
    plate_a: float,
    plate_v: float,
    grid_v: float,
    screen_v: float | None,
) -> Specimen | None:
    """Return a specimen whose plate current is the measured one.

    Parameters
    ----------
    law : TubeLaw or None
        Of its type.
    known : Specimen or None
        What is known of it otherwise.
    plate_a : float
        Measured plate current. [A]
    plate_v, grid_v, screen_v : float
        At these volts to the cathode; a pentode without its own screen volts is taken as strapped to its plate. [V]

    Returns
    -------
    Specimen or None
        With its emission; None where the type's law has no plate current at these volts, or the measured one is
        less than a fifth or more than three times of it.

    Source
    ------
    The adjusted law of `lugwright.circuit.tubes.specimen`, its emission moved until the current is the measured one.
    """
    if not isinstance(law, TriodeLaw | PentodeLaw):
        return None
    specimen = replace(known or Specimen(), emission=1.0)
    for _ in range(ROUNDS):  # the knee moves a little with the current, so that it is not quite proportional
        expected_a = _plate_a(specimen_law(law, specimen), plate_v, plate_v if screen_v is None else screen_v, grid_v)
        if expected_a < LEAST_A or not EMISSIONS[0] <= specimen.emission * plate_a / expected_a <= EMISSIONS[1]:
            return None
        specimen = replace(specimen, emission=specimen.emission * plate_a / expected_a)
    return specimen


def _plate_a(law: TubeLaw, plate_v: float, screen_v: float, grid_v: float) -> float:
    parameters = asdict(law)
    parameters.pop("grid_gain", None)
    if isinstance(law, TriodeLaw):
        return float(triode_plate_current_a(plate_v, grid_v, **parameters)[0])
    return float(pentode_currents_a(plate_v, screen_v, grid_v, **parameters).plate_a)
