"""Which wire is taken: never one made for less than the volts on it."""

from __future__ import annotations

import pytest

from lugwright.catalogue.load import wire_types
from lugwright.errors import PlanError
from lugwright.layout.wire_choice import HIGH_CLASSES, choose_wire

CLASSES = ("B+", "screen", "plate", "output plate", "grid", "signal", "cathode", "bias", "heater", "speaker")


def rating_v(name: str) -> float:
    """Return what a wire type is made for."""
    return next(wire.insulation_v for wire in wire_types() if wire.name == name)


@pytest.mark.parametrize("name", CLASSES)
@pytest.mark.parametrize("volts", [0.0, 149.0, 151.0, 480.0, 600.0, 601.0, 999.0])
def test_no_wire_is_made_for_less_than_the_volts_on_it(name: str, volts: float) -> None:
    chosen = choose_wire(wire_types(), name=name, volts=volts, amps=0.05)
    assert chosen.insulation_v >= volts
    assert chosen.insulation_v >= 600.0 or (volts <= 150.0 and name not in HIGH_CLASSES)


def test_up_to_600_v_solid_pvc_is_taken_and_above_it_wire_made_for_1000_v() -> None:
    assert choose_wire(wire_types(), name="B+", volts=600.0, amps=0.3).name == "22 AWG solid 600 V"
    assert choose_wire(wire_types(), name="B+", volts=601.0, amps=0.3).name == "22 AWG stranded 1000 V"
    assert choose_wire(wire_types(), name="heater", volts=650.0, amps=3.0).name == "18 AWG stranded 1000 V"


def test_the_heaters_of_a_dozen_tubes_are_fed_by_14_gauge_and_nothing_smaller_by_it() -> None:
    found = [choose_wire(wire_types(), name="heater", volts=8.0, amps=amps).awg for amps in (3.0, 8.0, 8.7, 13.0)]
    assert found == [18, 16, 14, 14]


@pytest.mark.parametrize(
    ("volts", "amps", "told"),
    [(1180.0, 0.3, "add a wire type made for such volts to the catalogue, or lower them"),
     (750.0, 30.0, "add such a wire type to the catalogue, or split the load")],
)  # fmt: skip
def test_above_every_wire_of_the_catalogue_the_plan_is_refused_in_these_words(
    volts: float, amps: float, told: str
) -> None:
    with pytest.raises(PlanError) as caught:
        choose_wire(wire_types(), name="B+", volts=volts, amps=amps)
    assert str(caught.value) == (
        "no wire in the catalogue for B+\n"
        f"  found:  {volts:.0f} V and {amps:.2f} A on one wire\n"
        f"  wanted: insulation for {volts:.0f} V and copper for {amps:.2f} A\n"
        f"  do:     {told}"
    )
