"""What one misread color band makes of a resistor."""

from __future__ import annotations

from lugwright.bringup.faults.bands import misread_ohms


def test_one_decade_either_way_is_one_multiplier_band() -> None:
    # brown green red: red for orange, red for brown.
    assert misread_ohms(resistance_ohm=1500.0, tolerance=0.05)[:2] == (150.0, 15000.0)


def test_digits_are_confused_where_such_a_value_is_sold() -> None:
    # 68: blue gray. Violet for blue makes 78, white for gray 69: nobody sells either.
    assert set(misread_ohms(resistance_ohm=68e3, tolerance=0.05)) == {680e3, 6.8e3}
    # 220k: red red yellow. Orange for yellow; brown or orange for either red: of 12, 21, 32 and 23 only 12 is sold.
    assert set(misread_ohms(resistance_ohm=220e3, tolerance=0.05)) == {22e3, 120e3}


def test_a_value_without_bands_is_misread_as_nothing() -> None:
    assert misread_ohms(resistance_ohm=12345.0, tolerance=0.05) == ()
