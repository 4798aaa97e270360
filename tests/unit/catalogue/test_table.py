"""A data file that is not complete and sourced does not load, and says where."""

from __future__ import annotations

from importlib.resources import files

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lugwright.catalogue.hardware_file import body_rows_from, panel_part_from, socket_from, strip_from, wire_from
from lugwright.catalogue.load import read_table
from lugwright.catalogue.tube_file import tube_from
from lugwright.errors import CatalogueError

TUBE = (files("lugwright.catalogue") / "data" / "tubes" / "12ax7.toml").read_text(encoding="utf-8")
DO = "correct the data file, or install the program again if you did not change it"


def _words(old: str, new: str) -> str:
    assert old in TUBE
    with pytest.raises(CatalogueError) as caught:
        tube_from(read_table(TUBE.replace(old, new, 1), "tubes/12ax7.toml"))
    return str(caught.value)


def _expected(key: str, *, found: str, wanted: str) -> str:
    what = f"tubes/12ax7.toml: {key} cannot be used"
    return f"{what}\n  found:  {found}\n  wanted: {wanted}\n  do:     {DO}"


def test_words_for_a_figure_without_source() -> None:
    said = _words('plate_w = { value = 1, source = "sylvania" }', "plate_w = { value = 1 }")
    assert said == _expected(
        "limits.plate_w.source",
        found="no source",
        wanted="the name of a source: sylvania, base, rca, philips, coupled, capacitance, manual, band",
    )


def test_words_for_a_bare_figure() -> None:
    said = _words('plate_w = { value = 1, source = "sylvania" }', "plate_w = 1")
    assert said == _expected("limits.plate_w", found="1", wanted="a table")


def test_words_for_a_misspelt_source() -> None:
    said = _words('plate_w = { value = 1, source = "sylvania" }', 'plate_w = { value = 1, source = "silvania" }')
    assert said == _expected(
        "limits.plate_w.source", found="'silvania'", wanted="a source of this file, perhaps 'sylvania'"
    )


def test_words_for_a_misspelt_limit() -> None:
    said = _words("plate_cold_v =", "plate_coldv =")
    assert said == _expected("limits.plate_coldv", found="an unknown key", wanted="perhaps 'plate_cold_v'")


def test_words_for_a_text_where_a_number_belongs() -> None:
    said = _words("plate_w = { value = 1, source", 'plate_w = { value = "1 W", source')
    assert said == _expected("limits.plate_w.value", found="'1 W'", wanted="a number")


def test_words_for_a_figure_that_is_not_finite() -> None:
    said = _words("plate_w = { value = 1, source", "plate_w = { value = nan, source")
    assert said == _expected("limits.plate_w.value", found="nan", wanted="a number")


def test_words_for_an_unknown_electrode() -> None:
    said = _words("a = { plate = [1]", "a = { anode = [1]")
    assert said == _expected(
        "pins.a.anode",
        found="an unknown electrode",
        wanted="plate, grid, screen, suppressor, cathode, shield, plate1, plate2",
    )


def test_words_for_a_missing_key() -> None:
    said = _words('socket = "noval"\n', "")
    assert said == _expected("socket", found="nothing", wanted="a text")


def test_words_for_an_unknown_kind() -> None:
    said = _words('kind = "double triode"', 'kind = "tripod"')
    assert said == _expected(
        "kind",
        found="'tripod'",
        wanted='"double triode" or "triode" or "pentode" or "beam tetrode" or "rectifier"',
    )


def test_words_for_a_law_without_a_parameter() -> None:
    said = _words("grid_gain = 0.0006\n", "")
    assert said == _expected("law.grid_gain", found="nothing", wanted="a number")


def test_words_for_a_published_row_without_source() -> None:
    said = _words(', source = "sylvania", confidence = "read" }', ', confidence = "read" }')
    assert said == _expected(
        "published[1].source",
        found="no source",
        wanted="the name of a source: sylvania, base, rca, philips, coupled, capacitance, manual, band",
    )


def test_words_for_a_source_that_does_not_say_how_it_was_read() -> None:
    said = _words('read = "quotation"\n', "")
    assert said == _expected(
        "sources.sylvania.read",
        found="nothing",
        wanted='"sheet" or "quotation" or "memory" or "derived"',
    )


def test_words_for_a_file_that_is_no_toml() -> None:
    with pytest.raises(CatalogueError) as caught:
        read_table("name = ", "tubes/x.toml")
    assert caught.value.what == "tubes/x.toml: not a TOML file"
    assert caught.value.wanted == "a data file of the catalogue"


def _refusal(text: str) -> CatalogueError | None:
    try:
        tube_from(read_table(text, "tubes/12ax7.toml"))
    except CatalogueError as error:
        return error
    return None


LINES = TUBE.splitlines()


@given(
    line=st.integers(0, len(LINES) - 1), text=st.sampled_from(["", "x = 1", "[limits]", 'kind = "triode"', "]", "= 3"])
)
@settings(max_examples=60, deadline=None)
def test_a_damaged_tube_file_loads_or_gives_a_catalogue_error(line: int, text: str) -> None:
    damaged = "\n".join([*LINES[:line], text, *LINES[line + 1 :]])
    refused = _refusal(damaged)
    assert refused is None or "tubes/12ax7.toml" in refused.what


@pytest.mark.parametrize(
    "read", [tube_from, socket_from, strip_from, wire_from, panel_part_from, lambda file: list(body_rows_from(file))]
)
def test_an_empty_file_is_a_catalogue_error(read: object) -> None:
    with pytest.raises(CatalogueError):
        read(read_table("", "x.toml"))  # type: ignore[operator]
