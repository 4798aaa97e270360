"""Component values: strict reading, exact words of refusal, and the way back."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import get_args

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lugwright.errors import ValueSyntaxError
from lugwright.quantities import E24, Kind, Value, component_value, nearest_preferred, rkm, with_unit

KINDS = st.sampled_from(get_args(Kind))
LETTERS = st.text(alphabet="0123456789.,pnumkKMGRLFHΩµBCDJ ohmseE+-_٣", max_size=12)


def _value_or_refusal(text: str, kind: Kind) -> Value | ValueSyntaxError:
    try:
        return component_value(text, kind)
    except ValueSyntaxError as error:
        return error


@given(text=st.one_of(st.text(max_size=60), LETTERS), kind=KINDS)
@settings(max_examples=300, deadline=None)
def test_any_text_gives_a_finite_value_or_a_full_refusal(text: str, kind: Kind) -> None:
    answer = _value_or_refusal(text, kind)
    if isinstance(answer, ValueSyntaxError):
        assert all((answer.what, answer.found, answer.wanted, answer.do))
    else:
        assert 0 <= answer.base < math.inf


@given(figures=st.integers(1000, 9999), exponent=st.integers(-6, 5))
@settings(max_examples=200, deadline=None)
def test_rkm_of_a_resistance_reads_back_to_four_figures(figures: int, exponent: int) -> None:
    ohm = float(f"{figures}e{exponent}")
    if 1e-3 <= ohm <= 1e9:
        assert component_value(rkm(ohm, "ohm"), "ohm").base == pytest.approx(ohm, rel=1e-9)


@given(figures=st.integers(1000, 9999), exponent=st.integers(-15, -5))
@settings(max_examples=200, deadline=None)
def test_rkm_of_a_capacitance_reads_back_to_four_figures(figures: int, exponent: int) -> None:
    farad = float(f"{figures}e{exponent}")
    assert component_value(rkm(farad, "farad"), "farad").base == pytest.approx(farad, rel=1e-9)


@given(figures=st.integers(1000, 9999), exponent=st.integers(-9, 0))
@settings(max_examples=100, deadline=None)
def test_rkm_of_an_inductance_reads_back_to_four_figures(figures: int, exponent: int) -> None:
    henry = float(f"{figures}e{exponent}")
    assert component_value(rkm(henry, "henry"), "henry").base == pytest.approx(henry, rel=1e-9)


@pytest.mark.parametrize(
    ("text", "kind", "base"),
    [("4k7", "ohm", 4700), ("4.7k", "ohm", 4700), ("4700", "ohm", 4700), ("4.7 kohm", "ohm", 4700), ("0", "ohm", 0),
     ("22n", "farad", 22e-9), ("22 nF", "farad", 22e-9), ("0.022uF", "farad", 22e-9), ("0.022 µF", "farad", 22e-9),
     ("10 H", "henry", 10), ("300m", "henry", 0.3)],
)  # fmt: skip
def test_forms_a_builder_writes(text: str, kind: Kind, base: float) -> None:
    assert component_value(text, kind).base == pytest.approx(base, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "kind"),
    [("", "ohm"), ("k", "ohm"), ("4k7k", "ohm"), ("10m", "ohm"), ("-1k", "ohm"), ("1e3", "ohm"), ("nan", "ohm"),
     ("22", "farad"), ("22nH", "farad"), ("inf", "farad"), ("10", "henry"), ("٣k", "ohm"), ("4k7 x", "ohm")],
)  # fmt: skip
def test_what_is_not_understood_as_a_whole_is_refused(text: str, kind: Kind) -> None:
    with pytest.raises(ValueSyntaxError):
        component_value(text, kind)


def test_words_for_a_text_that_is_no_resistance() -> None:
    with pytest.raises(ValueSyntaxError) as caught:
        component_value("4k7x", "ohm")
    assert str(caught.value) == (
        "not a resistance\n"
        "  found:  '4k7x'\n"
        '  wanted: a resistance such as "4k7"\n'
        "  do:     write digits and one letter (RKM code), or digits, prefix and unit"
    )


def test_words_for_a_comma() -> None:
    with pytest.raises(ValueSyntaxError) as caught:
        component_value("4,7k", "ohm")
    assert str(caught.value) == (
        "not a resistance\n"
        "  found:  '4,7k'\n"
        '  wanted: a resistance such as "4k7" (a point or the letter form, not a comma)\n'
        "  do:     write digits and one letter (RKM code), or digits, prefix and unit"
    )


def test_words_for_a_value_no_real_part_has() -> None:
    with pytest.raises(ValueSyntaxError) as caught:
        component_value("47 F", "farad")
    assert str(caught.value) == (
        "capacitance outside any real part\n"
        "  found:  '47 F' is 47 farad\n"
        "  wanted: 1e-13 to 1 farad\n"
        "  do:     check the letter: p n u m are small, k M G are large"
    )


@pytest.mark.parametrize(
    ("value", "unit", "text"),
    [(0.0482, "A", "48.2 mA"), (423.4, "V", "423 V"), (4700.0, "Ω", "4.70 kΩ"), (0.0, "V", "0 V"),
     (math.inf, "Ω", "∞ Ω"), (math.nan, "V", "-"), (-35.25, "V", "-35.2 V"), (-4.6e-12, "V", "0 V"),
     (3.1e-13, "W", "0 W"), (-9e-13, "A", "0 A"), (2.5e-9, "V", "2.50 nV"), (22e-12, "F", "22.0 pF")],
)  # fmt: skip
def test_value_with_unit_as_printed(value: float, unit: str, text: str) -> None:
    assert with_unit(value, unit) == text


def test_value_that_rounds_up_to_the_next_prefix_keeps_three_figures() -> None:
    assert with_unit(999.9, "V") == "1.00 kV"


@given(value=st.floats(1e-12, 1e9))
@settings(max_examples=100, deadline=None)
def test_nearest_preferred_is_never_further_than_half_a_step(value: float) -> None:
    steps = [math.log10(b / a) for a, b in pairwise((*E24, 10.0))]  # the widest is from 1.3 to 1.5
    assert abs(math.log10(nearest_preferred(value) / value)) <= max(steps) / 2 + 1e-9
