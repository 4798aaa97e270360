"""A value replaced for a what-if is what the file would say with it, and a bad one is answered in these words."""

from __future__ import annotations

from pathlib import Path

import pytest

from lugwright.buildfile.build import Build, Can, Tube
from lugwright.buildfile.changes import Changed
from lugwright.buildfile.read import ReadResult, read_text
from lugwright.errors import ChangeError

EXAMPLES = Path(__file__).parents[3] / "examples"
TEXT = """format = 1
[build]
title = "What if"
mains = { volts = 120, hertz = 60 }
[tubes]
V1 = "12AX7"
V2 = { type = "6V6GT", note = "as found" }
[stage.first]
use = "common cathode"
numbers = 10
tube = "V1a"
input = "in"
output = "out"
supply = "B+2"
cathode_resistor = { value = "1k5", name = "R4", watts = 1 }
[stage.more]
R20 = { value = "100k", watts = 1, ends = ["B+2", "V1b.plate"] }
R21 = { value = "1M", taper = "audio", ends = ["ground", "V1b.grid", "out"] }
R22 = { value = "1M", taper = "audio", setting = 0.4, ends = ["ground", "x", "y"] }
C20 = { values = ["47u", "22u"], volts = 450, ends = ["B+1", "B+2", "ground"] }
L1 = { value = "5H", ohm = 110, amps = 0.1, ends = ["B+1", "B+2"] }
S1 = { positions = ["warm", "cold", "clear"], poles = [["x", "y", "in", ""]] }
S2 = { positions = ["off", "on"], position = "off", poles = [["x", "y", "in"]] }
J1 = { tip = "in", sleeve = "ground" }
LS1 = { ohm = 8, watts = 10, ends = ["J2.tip", "ground"] }
J2 = { tip = "LS1.plus", sleeve = "ground" }
T2 = { kind = "output transformer", windings = { primary = { turns = 25, ohms = 9, ends = ["p", "B+1"] } } }
"""


def changed(*changes: str) -> ReadResult:
    return read_text(TEXT, "amp.toml", changes=changes)


@pytest.mark.parametrize(
    ("change", "wanted", "old", "new"),
    [
        ("R20=220k", Changed("R20", "value", "100k", "220k"), 'R20 = { value = "100k"', 'R20 = { value = "220k"'),
        ("R4 = 820", Changed("R4", "value", "1k5", "820"), 'value = "1k5", name', 'value = "820", name'),
        ("R12=220kJ", Changed("R12", "value", "100k", "220kJ"), "[stage.more]",
         'plate_resistor = { value = "220kJ", watts = 1 }\n[stage.more]'),
        ("C11=1u", Changed("C11", "value", "22u", "1u"), "[stage.more]", 'cathode_capacitor = "1u"\n[stage.more]'),
        ("C20.b=100u", Changed("C20.b", "values", "22u", "100u"), '["47u", "22u"]', '["47u", "100u"]'),
        ("L1=10H", Changed("L1", "value", "5H", "10H"), 'value = "5H"', 'value = "10H"'),
        ("R21=0.7", Changed("R21", "setting", "50%", "70%"), 'taper = "audio", ends',
         'taper = "audio", setting = 0.7, ends'),
        ("R22=12.5%", Changed("R22", "setting", "40%", "12.5%"), "setting = 0.4", "setting = 0.125"),
        ("R22=0", Changed("R22", "setting", "40%", "0%"), "setting = 0.4", "setting = 0"),
        ("R22=500k", Changed("R22", "value", "1M", "500k"), 'R22 = { value = "1M"', 'R22 = { value = "500k"'),
        ("V1=12at7", Changed("V1", "type", "12AX7", "12AT7"), 'V1 = "12AX7"', 'V1 = "12AT7"'),
        ("V2=6L6GC", Changed("V2", "type", "6V6GT", "6L6GC"), 'type = "6V6GT"', 'type = "6L6GC"'),
        ("S1=cold", Changed("S1", "position", "clear", "cold"), "\nS1 = {", '\nS1 = { position = "cold",'),
        ("S2=on", Changed("S2", "position", "off", "on"), 'position = "off"', 'position = "on"'),
        ("J1=plugged", Changed("J1", "plug_in", "empty", "plugged"), "J1 = {", "J1 = { plug_in = true,"),
        ("LS1=16", Changed("LS1", "ohm", "8", "16"), "LS1 = { ohm = 8", "LS1 = { ohm = 16"),
        ("mains=132", Changed("mains", "volts", "120 V", "132 V"), "volts = 120", "volts = 132"),
        ("mains=112.5 V", Changed("mains", "volts", "120 V", "112.5 V"), "volts = 120", "volts = 112.5"),
    ],
)  # fmt: skip
def test_a_change_reads_as_the_file_with_that_value_in_it(change: str, wanted: Changed, old: str, new: str) -> None:
    assert TEXT.count(old) == 1
    result, edited = changed(change), read_text(TEXT.replace(old, new), "amp.toml")
    assert result.changes == (wanted,)
    assert parts(result.build) == parts(edited.build)
    assert parts(result.build) != parts(read_text(TEXT, "amp.toml").build)
    assert [f.what for f in result.findings] == [f.what for f in edited.findings]


def parts(build: Build | None) -> dict[str, tuple[object, ...]]:
    """Return what a build says of each part, apart from where it stands in the file."""
    assert build is not None
    mains = {"mains": (build.mains_v, build.mains_hz)}
    return {**mains, **{p.name: (p.kind, p.values, p.note, p.terminals) for p in build.parts}}


def test_several_changes_are_made_together_and_the_text_stays_as_it_was() -> None:
    result = changed("R20=220k", "R22=500k", "R22=70%", "C20.a=10u", "C20.b=10u")
    assert [(c.part, c.was, c.now) for c in result.changes] == [
        ("R20", "100k", "220k"), ("R22", "1M", "500k"), ("R22", "40%", "70%"), ("C20.a", "47u", "10u"),
        ("C20.b", "22u", "10u"),
    ]  # fmt: skip
    assert result.build is not None
    can = result.build.part("C20").values
    assert isinstance(can, Can)
    assert can.farads == (1e-5, 1e-5)
    assert changed().changes == ()


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        (["R20"], "'R20' is no change|a part without a value|a part and its value, such as R17=220k"
                  "|write PART=VALUE, in quotes where there is a blank in it"),
        (["=1k"], "'=1k' is no change|a value without a part|a part and its value, such as R17=220k"
                  "|write PART=VALUE, in quotes where there is a blank in it"),
        (["LS2=4"], "there is no part LS2 to set|LS2=4|a part of amp.toml|write 'LS1'"),
        (["r20=1k"], "there is no part r20 to set|r20=1k|a part of amp.toml|write 'R20'"),
        (["V1a=12AT7"], "there is no part V1a to set|V1a=12AT7|a part of amp.toml|write 'V1'"),
        (["C20.c=1u"], "there is no part C20.c to set|C20.c=1u|a part of amp.toml|write 'C20.b'"),
        (["volume=1"], "there is no part volume to set|volume=1|a part of amp.toml"
                       "|look its name up: lugwright parts amp.toml"),
        (["R20=220q"], "R20 cannot be set to '220q'|R20=220q|a resistance such as \"4k7\""
                       "|write digits and one letter (RKM code), or digits, prefix and unit"),
        (["R20=0"], "R20 cannot be set to '0'|R20=0|more than zero ohm|correct that value"),
        (["C11=47"], "C11 cannot be set to '47'|C11=47|a capacitance such as \"22n\""
                     "|write digits and one letter (RKM code), or digits, prefix and unit"),
        (["C20.a=47"], "C20.a cannot be set to '47'|C20.a=47|a capacitance such as \"22n\""
                       "|write digits and one letter (RKM code), or digits, prefix and unit"),
        (["R21=7"], "R21 cannot be set to '7'|R21=7|a setting from 0 to 1 or from 0% to 100%, or a resistance with "
                    "its letter such as 250k|count from the counterclockwise end: 0.5 is halfway round"),
        (["V1=12AXT"], "V1 cannot be set to '12AXT'|V1=12AXT|a name such as '12AX7'"
                       "|write '12AX7' if that is what you mean"),
        (["S2=onn"], "S2 cannot be set to 'onn'|S2=onn|one of off, on|write 'on'"),
        (["S1=3"], "S1 cannot be set to '3'|S1=3|one of warm, cold, clear|choose one"),
        (["J1=yes"], "J1 cannot be set to 'yes'|J1=yes|one of plugged, empty|say whether a plug is in it"),
        (["T2=5k"], "T2 has no one value that can be set|T2=5k, and T2 is of the kind output transformer|a part of one "
                    "of the kinds resistor, pot, capacitor, can, choke, tube, switch, jack, speaker, mains"
                    "|change it in a copy of the build file"),
        (["C20=47u"], "C20 has no one value that can be set|C20=47u, and C20 is of the kind can|a section of it"
                      "|write C20.a=47u or C20.b=47u"),
        (["mains=low"], "mains cannot be set to 'low'|mains=low|volts such as 125|correct that value"),
        (["R20=1k", "R20=2k"], "R20 is set twice|R20=1k and R20=2k|one value for it|take one of them out"),
    ],
)  # fmt: skip
def test_a_change_that_cannot_be_made_says_why(changes: list[str], words: str) -> None:
    with pytest.raises(ChangeError) as caught:
        changed(*changes)
    what, found, wanted, do = words.split("|")
    assert str(caught.value) == f"{what}\n  found:  {found}\n  wanted: {wanted}\n  do:     {do}"


def test_all_changes_that_cannot_be_made_are_told_at_once() -> None:
    with pytest.raises(ChangeError) as caught:
        changed("S1=3", "R20=1k", "J1=yes", "mains=low")
    assert str(caught.value) == (
        "S1 cannot be set to '3'\n  found:  S1=3\n  wanted: one of warm, cold, clear\n  do:     choose one\n"
        "error: J1 cannot be set to 'yes'\n  found:  J1=yes\n  wanted: one of plugged, empty\n"
        "  do:     say whether a plug is in it\n"
        "error: mains cannot be set to 'low'\n  found:  mains=low\n  wanted: volts such as 125\n"
        "  do:     correct that value"
    )


def test_another_tube_is_an_average_one_not_the_measured_one_that_was_there() -> None:
    text = TEXT.replace('note = "as found"', 'note = "as found", measured = { emission = 0.8 }')
    before, after = (read_text(text, changes=changes).build for changes in ([], ["V2=6L6GC"]))
    assert before is not None
    assert after is not None
    found = [build.part("V2").values for build in (before, after)]
    assert [(v.type.name, bool(v.measured)) for v in found if isinstance(v, Tube)] == [
        ("6V6GT", True),
        ("6L6GC", False),
    ]
    assert after.part("V2").note == "as found"


def test_mains_out_of_all_bounds_are_the_mistake_they_are_in_the_file() -> None:
    result = changed("mains=12")
    assert result.build is None
    assert [(f.what, f.found) for f in result.findings if f.rule == "bad-value"] == [
        ("[build]: mains.volts cannot be used", "mains.volts = 12.0")
    ]


def test_a_tube_that_needs_more_joints_is_found_by_the_checks_of_the_file() -> None:
    found = [f for f in changed("V2=EL34").findings if f.rule == "unused-electrode" and "suppressor" in f.what]
    assert [f.what for f in found] == ["V2.suppressor is joined to nothing"]


def test_a_value_no_body_exists_for_is_a_finding_as_it_would_be_in_the_file() -> None:
    result = changed("C12=100u")
    (finding,) = (f for f in result.findings if f.rule == "no-such-body")
    assert result.build is None
    assert finding.part == "C12"


def test_every_resistor_and_capacitor_of_the_demo_builds_can_be_set_whatever_stage_made_it() -> None:
    for path in sorted(EXAMPLES.glob("*.toml")):
        text = path.read_text()
        build = read_text(text, path.name).build
        assert build is not None
        for part in [p for p in build.parts if p.kind in ("resistor", "capacitor")][::20]:
            value = "3k3" if part.kind == "resistor" else "3n3"
            after = read_text(text, path.name, changes=[f"{part.name}={value}"]).build
            assert after is not None
            one = after.part(part.name).values
            assert getattr(one, "ohm", 0.0) == 3300.0 or getattr(one, "farad", 0.0) == pytest.approx(3.3e-9)
