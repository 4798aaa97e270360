"""The catalogue by name, and the words for what is not in it."""

from __future__ import annotations

import pytest

from lugwright.catalogue import load
from lugwright.catalogue.records import PentodeLaw, RectifierLaw, TriodeLaw
from lugwright.errors import CatalogueError


@pytest.mark.parametrize(
    ("asked", "name"),
    [("12AX7", "12AX7"), ("ecc83", "12AX7"), ("7025", "12AX7"), ("ECC81", "12AT7"), ("ECC82", "12AU7"),
     ("6072", "12AY7"), ("6267", "EF86"), ("ef94", "6AU6"), ("EL90", "6AQ5"), ("6L6WGB", "5881"), ("6550A", "6550"),
     ("6V4", "EZ80"), ("EZ90", "6X4"), ("5V4GA", "5V4G"), ("5AS4A", "5U4GB"), ("kt66", "KT66"), ("kt88", "KT88"),
     ("6BQ5", "EL84"), ("6ca7", "EL34"), ("5AR4", "GZ34"), ("6CA4", "EZ81"), (" el34 ", "EL34"), ("6V6", "6V6GT")],
)  # fmt: skip
def test_tube_by_name_or_alias_in_any_case(asked: str, name: str) -> None:
    assert load.tube_type(asked).name == name


def test_same_tube_is_read_once() -> None:
    assert load.tube_type("ECC83") is load.tube_type("12ax7")


def test_no_alias_names_two_tubes() -> None:
    seen = [n.casefold() for name in load.tube_names() for n in (name, *load.tube_type(name).aliases)]
    assert len(seen) == len(set(seen))


def test_every_tube_has_a_law_of_its_kind_a_known_socket_and_sourced_limits() -> None:
    laws = {"double triode": TriodeLaw, "pentode": PentodeLaw, "beam tetrode": PentodeLaw, "rectifier": RectifierLaw}
    assert len(load.tube_names()) == 24
    for name in load.tube_names():
        tube = load.tube_type(name)
        assert isinstance(tube.law, laws[tube.kind])
        assert tube.law_source is not None
        assert tube.law_source.title.startswith("fit:tools/fit_tube.py")
        assert load.socket_type(tube.socket).name == tube.socket
        assert 0.1 <= tube.spread <= 0.3
        assert all(figure.source.title for figure in tube.limits.values())
        assert tube.rating_system in ("design-center", "design-maximum", "absolute")


def test_laws_of_output_tubes_never_give_screen_more_than_the_cathode_sends() -> None:
    pentodes = [law for name in load.tube_names() if isinstance(law := load.tube_type(name).law, PentodeLaw)]
    assert len(pentodes) == 11
    for law in pentodes:
        assert law.rho * (1 + law.alpha_s) <= 1.001


def test_section_a_of_a_noval_double_triode_is_on_pins_1_2_3() -> None:
    sections = load.tube_type("12AX7").sections
    assert [(s.letter, dict(s.pins)) for s in sections] == [
        ("a", {"plate": (1,), "grid": (2,), "cathode": (3,)}),
        ("b", {"plate": (6,), "grid": (7,), "cathode": (8,)}),
    ]
    assert dict(load.tube_type("12AX7").heater.pins) == {"heater1": 4, "heater2": 5, "heater_tap": 9}


def test_octal_double_triode_has_grid_plate_cathode_in_that_order() -> None:
    sections = load.tube_type("6SN7GT").sections
    assert [dict(s.pins) for s in sections] == [
        {"plate": (2,), "grid": (1,), "cathode": (3,)},
        {"plate": (5,), "grid": (4,), "cathode": (6,)},
    ]


def test_suppressor_of_el34_is_on_pin_1_and_el84_has_none_of_its_own() -> None:
    assert load.tube_type("EL34").sections[0].pins["suppressor"] == (1,)
    assert "suppressor" not in load.tube_type("EL84").sections[0].pins


@pytest.mark.parametrize(
    ("name", "joined"),
    [
        ("GZ34", True),
        ("5Y3GT", True),
        ("5U4GB", True),
        ("5V4G", True),
        ("EZ81", False),
        ("EZ80", False),
        ("6X4", False),
    ],
)
def test_rectifiers_with_cathode_and_heater_on_one_pin(name: str, joined: bool) -> None:
    tube = load.tube_type(name)
    assert tube.heater.is_cathode is joined
    shared = tube.sections[0].pins["cathode"][0] in tube.heater.pins.values()
    assert shared is joined


def test_every_amplifying_section_has_its_three_capacitances_with_sources() -> None:
    for name in load.tube_names():
        tube = load.tube_type(name)
        if tube.kind == "rectifier":
            assert not tube.capacitances
            continue
        assert set(tube.capacitances) == {section.letter for section in tube.sections}
        for section in tube.capacitances.values():
            for figure in (section.grid_plate_f, section.grid_cathode_f, section.plate_cathode_f):
                assert figure is not None
                assert figure.source.title
                assert 1e-15 < figure.value < 2e-11  # picofarads


def test_capacitances_of_the_two_sections_stand_apart_where_the_sheet_tells_them_apart() -> None:
    sections = load.tube_type("12AX7").capacitances
    outputs = [s.plate_cathode_f.value for s in (sections["a"], sections["b"]) if s.plate_cathode_f]
    assert outputs == [0.34e-12, 0.46e-12]  # unit 1 of the sheet is on pins 6, 7, 8: section b


def test_kt88_and_5881_are_no_other_names_of_tubes_with_other_limits() -> None:
    assert load.tube_type("KT88").name == "KT88"
    assert load.tube_type("5881").limits["plate_w"].value < load.tube_type("6L6GC").limits["plate_w"].value


def test_miniature_tubes_stand_in_seven_pin_sockets() -> None:
    for name in ("6AU6", "6AQ5", "6X4"):
        tube = load.tube_type(name)
        assert tube.socket == "B7G"
        assert {pin for _, _, pins in tube.terminals() for pin in pins} <= set(range(1, 8))


def test_electrodes_on_two_pins() -> None:
    assert load.tube_type("6AQ5").sections[0].pins["grid"] == (1, 7)
    assert load.tube_type("EF86").sections[0].pins["shield"] == (2, 7)


def test_which_types_promise_no_power_and_why() -> None:
    doubts = {name: load.tube_type(name).power_doubt for name in load.tube_names()}
    assert {name: doubt for name, doubt in doubts.items() if doubt} == {
        "12AY7": "too few published rows: a low-current row is missing",
        "5V4G": "too few published rows: an operating row with its first capacitor is missing",
        "6AU6": "too few published rows: a row at full drive is missing",
        "6X4": "too few published rows: an operating row with its first capacitor is missing",
        "EF86": "too few published rows: a row at full drive is missing",
        "KT66": "too few published rows: a low-current row is missing",
        "KT88": "its pentode row at full drive is from memory, and its rows with the screens on taps are missed by "
        "up to 40 %",
    }


def test_terminals_list_sections_then_heater() -> None:
    assert load.tube_type("EL84").terminals() == (
        ("", "plate", (7,)), ("", "grid", (2,)), ("", "screen", (9,)), ("", "cathode", (3,)),
        ("", "heater1", (4,)), ("", "heater2", (5,)),
    )  # fmt: skip


def test_words_for_an_unknown_tube_with_a_near_name() -> None:
    with pytest.raises(CatalogueError) as caught:
        load.tube_type("12AXT")
    assert str(caught.value) == (
        "no such tube in the catalogue\n"
        "  found:  '12AXT'\n"
        "  wanted: a name such as '12AX7'\n"
        "  do:     write '12AX7' if that is what you mean"
    )


def test_words_for_an_unknown_strip_with_no_near_name() -> None:
    with pytest.raises(CatalogueError) as caught:
        load.strip_type("9999")
    assert str(caught.value) == (
        "no such terminal strip in the catalogue\n"
        "  found:  '9999'\n"
        "  wanted: one of strip 6.4, strip 9.5\n"
        "  do:     choose one of these names"
    )


@pytest.mark.parametrize("name", ["../tubes/12ax7", "", "12ax7.toml", "\0"])
def test_a_path_is_no_name(name: str) -> None:
    with pytest.raises(CatalogueError):
        load.tube_type(name)
    with pytest.raises(CatalogueError):
        load.panel_part(name)


def test_smallest_body_that_suffices() -> None:
    row = load.body_row("metal film resistor", watts=0.5)
    assert (row.watts, row.volts, row.body.length_mm, row.body.diameter_mm) == (0.5, 350, 8.5, 2.8)
    assert load.body_row("metal film resistor", watts=0.6).watts == 1.0
    assert load.body_row("film capacitor", farad=22e-9, volts=500).volts == 630
    assert load.body_row("axial electrolytic", farad=22e-6, volts=450).farad == 22e-6


@pytest.mark.parametrize("kind", load.body_kinds())
def test_bodies_grow_with_what_is_asked(kind: str) -> None:
    smallest = load.body_row(kind)
    assert smallest.body.diameter_mm > 0
    assert smallest.body.source.title
    assert 0 < smallest.tolerance <= 0.2


def test_words_for_a_part_too_large_for_any_body() -> None:
    with pytest.raises(CatalogueError) as caught:
        load.body_row("film capacitor", farad=100e-6, volts=630)
    assert str(caught.value) == (
        "no film capacitor large enough\n"
        "  found:  100 µF and 630 V\n"
        "  wanted: at most 1.00 µF and 1.00 kV, not always together\n"
        "  do:     use two parts, or state the body of this one in the build file"
    )


def test_words_for_an_unknown_kind_of_part() -> None:
    with pytest.raises(CatalogueError) as caught:
        load.body_row("metal film resitor", watts=1)
    assert str(caught.value) == (
        "no such kind of part in the catalogue\n"
        "  found:  'metal film resitor'\n"
        "  wanted: a name such as 'metal film resistor'\n"
        "  do:     write 'metal film resistor' if that is what you mean"
    )


@pytest.mark.parametrize(
    ("asked", "given"),
    [
        ("switch 1 pole 1 position", "switch 1 pole 2 position"),
        ("switch 2 pole 2 position", "switch 2 pole 2 position"),
        ("switch 1 pole 5 position", "switch 1 pole 12 position"),
        ("switch 3 pole 2 position", "switch 3 pole 4 position"),
        ("switch 4 pole 2 position", "switch 4 pole 3 position"),
    ],
)
def test_smallest_switch_with_as_many_poles_and_positions(asked: str, given: str) -> None:
    part = load.panel_part(asked)
    poles, positions = (int(word) for word in asked.split() if word.isdigit())
    assert part.name == given
    for pole in range(1, poles + 1):
        assert {f"{pole}.common", *(f"{pole}.{n}" for n in range(1, positions + 1))} <= set(part.lugs)


@pytest.mark.parametrize(
    ("name", "lugs"),
    [("pot", {"1", "2", "3"}), ("pot with switch", {"1", "2", "3", "s1", "s2"}), ("jack", {"tip", "sleeve"}),
     ("isolated switched jack", {"tip", "sleeve", "tip_switch"}), ("fuse holder", {"1", "2"}),
     ("pilot lamp", {"1", "2"}), ("mains inlet", {"line", "neutral", "earth"})],
)  # fmt: skip
def test_panel_parts_have_the_lugs_builds_name(name: str, lugs: set[str]) -> None:
    assert set(load.panel_part(name).lugs) == lugs


def test_inlet_has_a_cutout_two_screws_and_a_round_hole_inside_it() -> None:
    inlet = load.panel_part("mains inlet")
    assert inlet.cutout_mm == (27.0, 20.0)
    assert inlet.hole_mm <= min(inlet.cutout_mm)
    assert inlet.extra_holes[1][0] - inlet.extra_holes[0][0] == 40.0


def test_wire_that_may_see_b_plus_is_good_for_600_v() -> None:
    wires = load.wire_types()
    assert [w.name for w in wires] == sorted(w.name for w in wires)
    assert {w.awg for w in wires if w.kind == "solid" and w.insulation_v >= 600} == {18, 20, 22}
    assert all(w.insulation_v == 0 for w in wires if w.kind == "bare")
    assert any("green-yellow" in w.insulation for w in wires if w.kind == "mains")
