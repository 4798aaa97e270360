"""Measured values in place of stated ones: what they do to the build, to windows, and when they do not count."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lugwright.bringup.as_built import AsBuilt, as_built
from lugwright.bringup.as_built_words import as_built_from_words
from lugwright.bringup.measured_windings import turns_on_mains
from lugwright.bringup.ohms_chart import ohms_chart
from lugwright.bringup.results import Reading, Step
from lugwright.bringup.voltage_chart import power_up_steps
from lugwright.buildfile.build import Build, Can, Capacitor, Choke, Pot, Resistor, Switch, Transformer, Tube, Winding
from lugwright.buildfile.read import read_build
from lugwright.circuit.from_build import circuit_from_build
from lugwright.circuit.network import Circuit
from lugwright.errors import ReadingError
from lugwright.findings import Grade
from lugwright.log.events import Entry, checked
from lugwright.log.state import Bench, played
from lugwright.quantities import with_unit
from lugwright.solve.idle import solve_columns
from lugwright.solve.readout import read_idle

Built = tuple[Build, Circuit]
EXAMPLES = Path(__file__).parents[3] / "examples"


def bench_of(build: Build, *said: tuple[str, str]) -> Bench:
    """Return the bench after these were written down, one after the other."""
    entries: list[Entry] = []
    for number, (what, value) in enumerate(said):
        kind, subject, body = as_built_from_words(build, played(entries, "1"), what, value)
        entries.append(Entry(f"{number:032x}", f"2026-11-26T12:00:00.{number:06}Z", "1", kind, subject, body))
    return played(entries, "1")


def built_with(build: Build, *said: tuple[str, str], **how: frozenset[str]) -> AsBuilt:
    return as_built(build, bench_of(build, *said), **how)


def values(found: AsBuilt, name: str) -> object:
    return found.build.part(name).values


def test_parts_have_their_measured_values_and_the_meters_accuracy(godwit: Built) -> None:
    build = godwit[0]
    found = built_with(
        build, ("R17", "9.87k"), ("R49", "24.1k"), ("C23.b", "51.2 uF"), ("C21", "48u"), ("L1", "102"), ("S2", "ON"),
        ("r49", "40 %"),
    )  # fmt: skip
    assert found.used == ("R17", "R49", "C23.b", "C21", "L1", "S2 setting", "R49 setting")
    assert (found.unused, found.build.mains_spread) == ({}, 0.03)
    resistor, pot, can, capacitor, choke, switch = (values(found, n) for n in ("R17", "R49", "C23", "C21", "L1", "S2"))
    assert isinstance(resistor, Resistor)
    assert (resistor.ohm, resistor.tolerance) == (9870.0, 0.01)
    assert isinstance(pot, Pot)
    assert (pot.ohm, pot.tolerance, pot.setting) == (24.1e3, 0.01, 0.4)
    assert isinstance(can, Can)
    assert can.farads == (50e-6, 51.2e-6)
    assert isinstance(capacitor, Capacitor)
    assert (capacitor.farad, capacitor.tolerance) == (48e-6, 0.03)
    assert isinstance(choke, Choke)
    assert (choke.ohm, choke.copper_spread) == (102.0, 0.01)
    assert isinstance(switch, Switch)
    assert switch.position == "on"
    untouched = [part.name for part in build.parts if found.build.part(part.name) == part]
    assert len(untouched) == len(build.parts) - 5  # the standby switch was on


def test_windings_keep_the_proportion_of_what_was_measured_together(godwit: Built) -> None:
    found = built_with(
        godwit[0], ("mains", "118.0"), ("T1 hv", "632 V"), ("T1 hv.1 to hv.2", "41.5 ohm"), ("T1 primary", "3.3 ohm")
    )
    transformer = values(found, "T1")
    assert isinstance(transformer, Transformer)
    by_name = {winding.name: winding for winding in transformer.windings}
    hv, primary = by_name["hv"], by_name["primary"]
    assert hv.turns == pytest.approx((632.0 / 118.0 * 60.0, 632.0 / 118.0 * 60.0))  # halves at the stated 120 V
    assert hv.ohms == (41.5, 40.0)
    assert (hv.turns_spread, hv.copper_spread) == (0.01, 0.05)  # of half the copper nothing is known yet
    assert primary.ohms == (3.3,)
    assert primary.copper_spread == 0.02
    assert (found.build.mains_v, found.build.mains_spread) == (118.0, pytest.approx(0.02**0.5 / 10.0))


def test_later_mains_leave_the_turns_that_were_measured_before(godwit: Built) -> None:
    found = built_with(godwit[0], ("mains", "118"), ("T1 hv", "632 V"), ("mains", "123"))
    transformer = values(found, "T1")
    assert isinstance(transformer, Transformer)
    assert sum(transformer.windings[1].turns) == pytest.approx(632.0 / 118.0 * 120.0)
    assert found.build.mains_v == 123.0


def test_an_unloaded_winding_reads_what_was_measured_when_it_is_computed_again(godwit: Built) -> None:
    build = built_with(godwit[0], ("mains", "118"), ("T1 hv", "632 V"), ("T1 heater", "6.55 V")).build
    steps = steps_of(build)
    assert at(steps, "heaters", "T1 lead hv.1 to hv.3").expected == pytest.approx(632.0, rel=2e-3)
    assert at(steps, "heaters", "T1 lead heater.1 to heater.3").expected == pytest.approx(6.55, rel=2e-3)


def steps_of(build: Build) -> tuple[Step, ...]:
    (solved,) = solve_columns(circuit_from_build(build))
    return power_up_steps(build, solved, read_idle(solved))


def at(steps: tuple[Step, ...], key: str, point: str) -> Reading:
    return next(r for step in steps if step.key == key for r in step.readings if r.point == point)


def narrowing(before: tuple[Step, ...], after: tuple[Step, ...]) -> list[float]:
    """Return what is left of the width of every DC and AC window at full mains, relative to what it is around.

    Signal volts hang on the gain of the tubes, not on the mains: their windows stay as they are.
    """
    left = []
    for one, other in zip(before, after, strict=True):
        now = {(r.point, r.quantity): r for r in other.readings}
        for row in one.readings:
            again = now[row.point, row.quantity]
            wide = row.high - row.low
            if not one.key.endswith("lamp") and row.quantity in ("V dc", "V ac") and abs(row.expected) > 1.0:
                left.append((again.high - again.low) / abs(again.expected) / (wide / abs(row.expected)))
    return left


def test_all_windows_narrow_once_mains_and_unloaded_windings_are_measured(
    dunlin: Built, dunlin_steps: tuple[Step, ...]
) -> None:
    """The mains fall from 3 % to 1.4 %, a winding's volts from 2 % to 1 %: what hangs on them gets narrower."""
    build = built_with(
        dunlin[0], ("mains", "118"), ("T1 hv", "435 V"), ("T1 heater", "6.6 V"), ("T1 primary", "8.1 ohm")
    ).build
    after = steps_of(build)
    left = narrowing(dunlin_steps, after)
    assert len(left) > 30
    assert max(left) < 1.0
    supplies = [
        (at(after, key, "B+1 to ground"), at(dunlin_steps, key, "B+1 to ground")) for key in ("no tubes", "all tubes")
    ]
    for now, before in supplies:
        assert (now.high - now.low) / now.expected < 0.75 * (before.high - before.low) / before.expected
    ac = at(after, "heaters", "T1 lead hv.1 to ground")
    assert (ac.high / ac.expected - 1.0) == pytest.approx(0.02**0.5 / 10.0 + 0.01)


def test_a_measured_resistor_narrows_the_ohms_chart(dunlin: Built) -> None:
    build = built_with(dunlin[0], ("R12", "327")).build
    before = next(r for r in ohms_chart(*dunlin).readings if r.point == "V2 pin 8 (cathode)")
    after = next(r for r in ohms_chart(build, circuit_from_build(build)).readings if r.point == before.point)
    assert after.expected == pytest.approx(327.0, rel=1e-3)
    assert after.high - after.low < 0.5 * (before.high - before.low)


def test_a_measured_tube_idles_as_measured_and_spreads_less(godwit: Built) -> None:
    found = built_with(godwit[0], ("V5", "6L6GC #12, 34.2 mA at 430/428/-38"), ("V1a", "1.0 mA at 250/-2"))
    tube, double = values(found, "V5"), values(found, "V1")
    assert isinstance(tube, Tube)
    assert isinstance(double, Tube)
    assert set(tube.measured) == {""}
    assert set(double.measured) == {"a"}
    assert 0.3 < tube.measured[""].emission < 3.0
    both = bench_of(godwit[0], ("V1", "12AX7 Sovereign"), ("V1a", "1.0 mA at 250/-2"), ("V1b", "1.1 mA at 250/-2"))
    assert [one.section for one in both.tubes["V1"].body.measured] == ["a", "b"]
    assert (both.tubes["V1"].body.type, both.tubes["V1"].body.label) == ("12AX7", "Sovereign")
    swapped = bench_of(godwit[0], ("V1a", "1.0 mA at 250/-2"), ("V1", "12AX7 other"))
    assert swapped.tubes["V1"].body.measured == []


def test_another_type_in_the_socket_is_computed_with(godwit: Built) -> None:
    found = built_with(godwit[0], ("V1", "12AU7 long plate"), ("V5", "6L6GC #12"))
    tube = values(found, "V1")
    assert isinstance(tube, Tube)
    assert tube.type.name == "12AU7"
    assert found.used == ("V1 tube",)
    assert words(found) == [
        ("other-tube-fitted", "doubt", "V1", "V1 is another type than the build file says",
         "12AU7, fitted on 2026-11-26", "12AX7",
         "predictions are of the tube that is in: fit the other one, or change the file"),
    ]  # fmt: skip
    assert found.unused == {"V5 tube": "it is of the type of the build file, and nothing was measured of it"}


def test_a_tube_that_does_not_fit_its_socket_is_a_fault(godwit: Built) -> None:
    found = built_with(godwit[0], ("V1", "6V6GT"))
    assert found.unused == {"V1 tube": "6V6GT has other pins than 12AX7"}
    assert words(found) == [
        ("tube-does-not-fit", "fault", "V1", "the socket of V1 is not wired for the tube in it",
         "6V6GT, fitted on 2026-11-26", "12AX7, or a type with the same pins",
         "take it out before anything is switched on; or change the file, plan again and rewire the socket"),
    ]  # fmt: skip


def test_what_belongs_to_another_value_or_is_tried_out_does_not_count(godwit: Built) -> None:
    build = godwit[0]
    bench = bench_of(build, ("R17", "9.87k"), ("mains", "118"), ("T1 hv", "632 V"))
    part = build.part("R17")
    swapped = tuple(replace(p, values=replace(p.values, ohm=4700.0)) if p is part else p for p in build.parts)
    found = as_built(replace(build, parts=swapped), bench)
    assert found.unused == {
        "R17": "measured when the build file said 10 kΩ 0.5 W (brown black black red brown), "
        "now it says 4.7 kΩ 0.5 W (yellow violet black brown brown)"
    }
    gone = as_built(replace(build, parts=tuple(p for p in build.parts if p is not part), mains_v=230.0), bench)
    assert gone.unused == {
        "R17": "R17 is no longer in the build",
        "mains": "measured when the build file said 120 V, now it says 230 V",
    }
    tried = as_built(build, bench, keep=frozenset({"R17", "mains"}))
    assert tried.unused == {
        "R17": "R17 is tried out with another value",
        "mains": "mains is tried out with another value",
    }
    assert tried.build.mains_v == 120.0


def test_a_part_off_its_mark_is_a_doubt(dunlin: Built) -> None:
    (finding,) = built_with(dunlin[0], ("R12", "361"), ("R8", "1.81k")).findings
    assert (finding.rule, finding.grade, finding.part) == ("measured-off-its-mark", Grade.DOUBT, "R12")
    assert finding.what == "R12 measures 9.4% above what it is marked"
    assert finding.found == "361 Ω"
    assert finding.wanted == "314 Ω to 346 Ω"
    assert finding.do == (
        "measure it once more with one lead out; if it stays so, swap it, or write what it is into the file"
    )


def words(found: AsBuilt) -> list[tuple[str, ...]]:
    return [(f.rule, f.grade.value, f.part, f.what, f.found, f.wanted, f.do) for f in found.findings]


def test_mains_and_windings_far_from_what_is_stated_are_told(godwit: Built) -> None:
    assert words(built_with(godwit[0], ("mains", "110"), ("T1 hv", "610 V"), ("T1 hv", "95 ohm"))) == []
    found = built_with(godwit[0], ("mains", "230"), ("T1 hv", "632 V"), ("T1 heater.1 to heater.2", "1.2 ohm"))
    look = "look whether these are its leads and nothing is connected to them; then write what it is into the file"
    heater = next(w for w in godwit[0].part("T1").values.windings if w.name == "heater")  # type: ignore[union-attr]
    assert words(found) == [
        ("mains-off", "fault", "", "the mains measure 91.7% above what the build file states", "230 V",
         "108 V to 132 V", "look which tap of the primary is wired, and what mains it is for, before the plug goes in"),
        ("winding-off", "doubt", "T1", "T1 hv measures 47.7% below what is stated of it",
         "330 V, counted for the stated mains", "586 V to 674 V", look),
        ("winding-off", "doubt", "T1",
         f"T1 heater measures {1.2 / heater.ohms[0] - 1.0:.1%} above what is stated of it", "1.20 Ω",
         f"{with_unit(0.7 * heater.ohms[0], 'Ω')} to {with_unit(1.3 * heater.ohms[0], 'Ω')}", look),
    ]  # fmt: skip


def test_a_tapped_primary_is_counted_on_the_leads_the_mains_are_on() -> None:
    primary = Winding("primary", ("primary.1", "primary.2", "primary.3"), (220.0, 20.0), (9.0, 1.0), None, ())
    assert turns_on_mains(primary, mains_v=220.0) == 220.0
    assert turns_on_mains(primary, mains_v=230.0) in (220.0, 240.0)
    assert turns_on_mains(primary, mains_v=240.0) == 240.0


@pytest.mark.parametrize(
    ("what", "value", "words"),
    [
        ("R99", "3", ("R99 cannot be written down so", "R99", "a part of godwit_40.toml, or mains", "write 'R9'")),
        ("manis", "118",
         ("manis cannot be written down so", "manis", "a part of godwit_40.toml, or mains", "write 'mains'")),
        ("V5", "6L6GC \x1b[31mred",
         ("V5 cannot be written down so", "6L6GC \\x1b[31mred", "printable letters",
          "write it on one line, without control characters")),
        ("R17 x", "3k", ("R17 x cannot be written down so", "R17 x", "R17 alone", "write that")),
        ("R17", "4 V", ("R17 cannot be written down so", "4 V", 'a resistance such as "98k7"', "correct that value")),
        ("R17", "OL",
         ("R17 cannot be written down so", "over range", "what the part has",
          "look for what is open before it is written down")),
        ("R49", "140 %",
         ("R49 cannot be written down so", "140 %", "0 % to 100 %, from the counterclockwise end",
          "halfway round is 50 %")),
        ("C1", "3",
         ("C1 cannot be written down so", "'3'", 'a capacitance such as "22n"',
          "write digits and one letter (RKM code), or digits, prefix and unit")),
        ("C23", "51u", ("C23 cannot be written down so", "C23", "C23.a or C23.b", "say which section was measured")),
        ("mains", "12",
         ("mains cannot be written down so", "12 V", "50 to 300 V", "check the letter before the unit")),
        ("mains", "118 Vdc",
         ("mains cannot be written down so", "118 Vdc", "volts of alternating current such as 118",
          "correct that value")),
        ("T1 hvv", "632 V",
         ("T1 hvv cannot be written down so", "T1 hvv", "a winding of T1: primary, hv, bias, heater",
          'write "T1 heater", or two leads of it: "T1 heater.1 to heater.3"')),
        ("T1 hv", "632",
         ("T1 hv cannot be written down so", "632", "volts without load, or ohms: 682 V, 3.2 ohm", "write the unit")),
        ("T1 hv", "632 V",
         ("T1 hv cannot be written down so", "632 V",
          "the mains volts at the same moment, before the volts of a winding",
          "measure them first: lugwright as-built FILE mains 118")),
        ("T1 primary", "118 V",
         ("T1 primary cannot be written down so", "118 V", "the volts of the other windings",
          "write what is on the primary as: mains 118")),
        ("T2 primary", "118 V",
         ("T2 primary cannot be written down so", "118 V of T2, output transformer",
          "volts without load of a power transformer, or ohms of a winding", "measure its ohms: they are enough")),
        ("V5", "6L6X",
         ("V5 cannot be written down so", "6L6X", "a name such as '6L6GC'", "write '6L6GC' if that is what you mean")),
        ("V5", "6L6GC 34 mA at 430/-38",
         ("V5 cannot be written down so", "6L6GC 34 mA at 430/-38",
          "a current and its volts: 34.2 mA at 400/400/-38 (plate, screen, grid)", "write them so")),
        ("V1", "1.1 mA at 250/-2",
         ("V1 cannot be written down so", "V1", "V1a or V1b", "say which section was measured")),
        ("V1a", "1.1 mA at 0/-2",
         ("V1a cannot be written down so", "1.1 mA at 0/-2: plate_v", "what a tube can have", "correct that figure")),
        ("S2", "onn", ("S2 cannot be written down so", "onn", "one of off, on", "write 'on'")),
        ("J1", "3",
         ("J1 cannot be written down so", "J1 is a jack",
          "a resistor, pot, choke, capacitor, transformer, tube or switch, or mains", "leave it out")),
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused(godwit: Built, what: str, value: str, words: tuple[str, ...]) -> None:
    with pytest.raises(ReadingError) as caught:
        as_built_from_words(godwit[0], Bench(), what, value)
    error = caught.value
    assert (error.what, error.found, error.wanted, error.do) == words


NAMES = ["R17", "r49", "C1", "C23.a", "C23", "T1 hv", "T1 hv.1 to hv.2", "T1", "V5", "V1a", "S2", "mains", "L1", "J1"]


@settings(deadline=None, derandomize=True, max_examples=300)
@given(
    st.sampled_from(NAMES) | st.text(max_size=20),
    st.text(max_size=30) | st.from_regex(r"[-0-9.]{1,6} ?[kMmuVac%]{0,3}"),
)
def test_any_words_are_an_entry_or_are_refused(godwit: Built, what: str, value: str) -> None:
    """What is understood has a checked body, and is played without a word."""
    try:
        kind, subject, body = as_built_from_words(godwit[0], Bench(), what, value)
    except ReadingError:
        return
    raw = {"id": "0" * 32, "time": "2026-11-26T12:00:00.000000Z", "copy": "1"}
    entry = checked({**raw, "kind": kind, "subject": subject, "body": body}, "test")
    as_built(godwit[0], played([entry], "1"))


@pytest.mark.parametrize("name", ["dunlin_5", "godwit_40", "curlew_18", "redshank_50"])
def test_a_build_measured_exactly_as_stated_is_computed_as_stated(name: str) -> None:
    build = read_build(EXAMPLES / f"{name}.toml").build
    assert build is not None
    said = [("mains", f"{build.mains_v:g} V")]
    for part in build.parts:
        if isinstance(part.values, Resistor):
            said.append((part.name, f"{part.values.ohm:.10g} ohm"))
        if isinstance(part.values, Transformer):
            said += [(f"{part.name} {w.name}", f"{sum(w.ohms):.10g} ohm") for w in part.values.windings]
        if isinstance(part.values, Transformer) and part.values.role == "power":
            windings = [w for w in part.values.windings if w.name != "primary"]
            said += [(f"{part.name} {w.name}", f"{sum(w.turns):.10g} V") for w in windings]
    found = built_with(build, *said)
    assert len(found.used) == len(said)
    assert found.unused == {}
    before, after = (read_idle(solve_columns(circuit_from_build(b))[0]) for b in (build, found.build))
    for joint, level in before.joints.items():
        assert after.joints[joint].volts == pytest.approx(level.volts, rel=1e-6, abs=1e-6)
