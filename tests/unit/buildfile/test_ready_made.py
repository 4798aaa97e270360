"""Each ready-made stage becomes the parts and joints the reference page promises."""

from __future__ import annotations

import pytest

from lugwright.buildfile.build import Build, Can, Capacitor, Choke, Diode, Pot, Resistor, Transformer
from lugwright.buildfile.read import read_text
from lugwright.quantities import rkm

HEAD = 'format = 1\n[build]\ntitle = "One stage"\nmains = { volts = 120, hertz = 60 }\n'
TUBES = '[tubes]\nV1 = "12AX7"\nV2 = "6L6GC"\nV3 = "6L6GC"\nV4 = "GZ34"\n'
OPEN_ENDS = {"joint-used-once", "unused-electrode", "floating-grid", "no-speaker", "no-chassis"}


def built(stage: str) -> Build:
    """Return a build of one stage; whatever stays open is its surroundings."""
    metal = '[stage.metal]\nW1 = { purpose = "a ground to refer to", ends = ["ground", "chassis"] }'
    result = read_text(f"{HEAD}{TUBES}[stage.one]\n{stage}\n{metal}")
    assert [str(f) for f in result.findings if f.rule not in OPEN_ENDS] == []
    assert result.build is not None
    return result.build


def parts_of(build: Build) -> dict[str, str]:
    """Return each part but tubes as its value and its joints: R101 -> 1M in ground."""
    words = {}
    for part in build.parts:
        if part.kind != "tube" and part.stage == "one":
            words[part.name] = " | ".join([_value(part.values), *(t.joint for t in part.terminals)])
    return words


def _value(values: object) -> str:
    if isinstance(values, Resistor | Pot):
        return rkm(values.ohm, "ohm")
    if isinstance(values, Capacitor):
        return rkm(values.farad, "farad")
    if isinstance(values, Choke):
        return rkm(values.henry, "henry")
    if isinstance(values, Can | Transformer | Diode):
        return type(values).__name__.lower()
    return "-"


def test_common_cathode() -> None:
    build = built('use = "common cathode"\ntube = "V1a"\ninput = "in"\noutput = "out"\nsupply = "B+3"')
    assert parts_of(build) == {
        "R101": "1M | in | ground",
        "R102": "100k | B+3 | V1a.plate",
        "R103": "1k5 | V1a.cathode | ground",
        "C101": "22u | V1a.cathode | ground",
        "C102": "22n | V1a.plate | out",
    }
    assert build.part("V1").terminal("grid", "a").joint == "in"
    assert build.stages[0].duty == "gain"


def test_common_cathode_with_a_stopper_and_no_capacitors() -> None:
    build = built(
        'use = "common cathode"\ntube = "V1a"\ninput = "in"\noutput = "out"\nsupply = "B+3"\n'
        'grid_stopper = "68k"\ncathode_capacitor = false\ncoupling_capacitor = false'
    )
    assert parts_of(build) == {
        "R101": "1M | in | ground",
        "R102": "68k | in | V1a.grid",
        "R103": "100k | B+3 | out",
        "R104": "1k5 | V1a.cathode | ground",
    }


def test_a_stopper_left_out_with_false_is_as_none_written() -> None:
    keys = 'use = "common cathode"\ntube = "V1a"\ninput = "in"\noutput = "out"\nsupply = "B+3"\n'
    assert parts_of(built(keys + "grid_stopper = false")) == parts_of(built(keys))


def test_a_part_is_renamed_overridden_and_added() -> None:
    build = built(
        'use = "common cathode"\nnumbers = 40\ntube = "V1a"\ninput = "in"\noutput = "out"\nsupply = "B+3"\n'
        'plate_resistor = { value = "220k", name = "R7" }\ncathode_resistor = "820"\n'
        'R41 = { value = "470k" }\nR9 = { value = "1M", ends = ["out", "ground"] }'
    )
    parts = parts_of(build)
    assert parts["R7"] == "220k | B+3 | V1a.plate"
    assert parts["R41"] == "470k | in | ground"
    assert parts["R43"] == "820 | V1a.cathode | ground".replace("820", "820R")
    assert parts["R9"] == "1M | out | ground"


def test_a_name_that_another_part_of_the_stage_has_is_refused() -> None:
    text = 'use = "three-knob tone stack"\ninput = "in"\noutput = "out"\ntreble = { value = "250k", name = "R101" }'
    found = [str(f) for f in read_text(f"{HEAD}{TUBES}[stage.one]\n{text}").findings if f.rule == "missing-key"]
    assert found == [
        "build.toml:14:10: fault: stage one (three-knob tone stack): treble is missing or cannot be used "
        "[missing-key]\n"
        '   14 | treble = { value = "250k", name = "R101" }\n'
        "      |          ^\n"
        "  found:  R101 for treble, and R101 for slope_resistor as well\n"
        "  wanted: a designator of its own for each part of the stage\n"
        '  do:     write name = "..." for one of them, or start the stage at another number with numbers = ...'
    ]


def test_cathode_follower() -> None:
    build = built('use = "cathode follower"\ntube = "V1b"\ninput = "in"\noutput = "out"\nsupply = "B+3"')
    assert parts_of(build) == {"R101": "100k | out | ground"}
    tube = build.part("V1")
    assert [tube.terminal(name, "b").joint for name in ("plate", "grid", "cathode")] == ["B+3", "in", "out"]


def test_long_tailed_pair() -> None:
    build = built(
        'use = "long-tailed pair"\ntube = "V1a"\nsecond_tube = "V1b"\ninput = "in"\noutput_a = "a"\n'
        'output_b = "b"\nsupply = "B+3"\ntail_foot = "foot"'
    )
    assert parts_of(build) == {
        "C101": "22n | in | V1a.grid",
        "R101": "1M | V1a.grid | one tail",
        "R102": "1M | V1b.grid | one tail",
        "C102": "100n | V1b.grid | foot",
        "R103": "470R | V1a.cathode | one tail",
        "R104": "10k | one tail | foot",
        "R105": "82k | B+3 | V1a.plate",
        "R106": "100k | B+3 | V1b.plate",
        "C103": "100n | V1a.plate | a",
        "C104": "100n | V1b.plate | b",
    }
    tube = build.part("V1")
    assert tube.terminal("cathode", "a").joint == tube.terminal("cathode", "b").joint


def test_split_load_inverter_has_equal_loads() -> None:
    parts = parts_of(
        built('use = "split-load inverter"\ntube = "V1a"\ninput = "in"\noutput_a = "a"\noutput_b = "b"\nsupply = "B+3"')
    )
    assert parts == {
        "C101": "22n | in | V1a.grid",
        "R101": "1M | V1a.grid | one foot",
        "R102": "56k | B+3 | V1a.plate",
        "R103": "1k5 | V1a.cathode | one foot",
        "R104": "56k | one foot | ground",
        "C102": "100n | V1a.plate | a",
        "C103": "100n | one foot | b",
    }


def test_three_knob_tone_stack() -> None:
    build = built('use = "three-knob tone stack"\ninput = "in"\noutput = "out"')
    assert parts_of(build) == {
        "C101": "250p | in | one treble top",
        "R101": "56k | in | one slope",
        "C102": "22n | one slope | one treble foot",
        "C103": "22n | one slope | one middle top",
        "R102": "250k | one treble foot | out | one treble top",
        "R103": "1M | one middle top | one treble foot | one treble foot",
        "R104": "25k | ground | one middle top | one middle top",
    }


def test_single_ended_output() -> None:
    assert parts_of(built('use = "single-ended output"\ntube = "V2"\ninput = "in"\nscreen_supply = "B+2"')) == {
        "R101": "220k | in | ground",
        "R102": "1k5 | in | V2.grid",
        "R103": "470R | B+2 | V2.screen",
        "R104": "330R | V2.cathode | ground",
        "C101": "47u | V2.cathode | ground",
    }


def test_single_ended_output_in_fixed_bias_is_read_at_its_cathode() -> None:
    build = built(
        'use = "single-ended output"\ntube = "V2"\ninput = "in"\nscreen_supply = "B+2"\nbias = "bias"\nplate = "p"'
    )
    assert parts_of(build) == {
        "R101": "220k | in | bias",
        "R102": "1k5 | in | V2.grid",
        "R103": "470R | B+2 | V2.screen",
        "R104": "1R | V2.cathode | ground",
    }
    values = build.part("R104").values
    assert isinstance(values, Resistor)
    assert (values.tolerance, values.watts) == (0.01, 1.0)
    assert build.part("V2").terminal("plate").joint == "p"


def test_single_ended_output_in_cathode_bias_with_a_measuring_resistor() -> None:
    stage = 'use = "single-ended output"\ntube = "V2"\ninput = "in"\nscreen_supply = "B+2"\n'
    assert parts_of(built(stage + 'measuring_resistor = "1"')) == {
        "R101": "220k | in | ground",
        "R102": "1k5 | in | V2.grid",
        "R103": "470R | B+2 | V2.screen",
        "R104": "330R | one cathode | ground",
        "C101": "47u | one cathode | ground",
        "R105": "1R | V2.cathode | one cathode",
    }


PUSH_PULL = (
    'use = "push-pull output"\ntube = "V2"\nsecond_tube = "V3"\ninput_a = "a"\ninput_b = "b"\nscreen_supply = "B+2"\n'
)


@pytest.mark.parametrize(
    ("written", "wanted"),
    [
        ('measuring_resistor = "1"',
         {"R108": "1R | V2.cathode | one cathodes", "R109": "1R | V3.cathode | one cathodes"}),
        ('measuring_resistor = { value = "10", name = "R41" }',
         {"R41": "10R | V2.cathode | one cathodes", "R109": "10R | V3.cathode | one cathodes"}),
        ('measuring_resistor = "1"\nsecond_measuring_resistor = { value = "2R2", watts = 2 }',
         {"R108": "1R | V2.cathode | one cathodes", "R109": "2R2 | V3.cathode | one cathodes"}),
        ('measuring_resistor = "1"\nsecond_measuring_resistor = false', {"R108": "1R | V2.cathode | one cathodes"}),
    ],
)  # fmt: skip
def test_push_pull_output_in_cathode_bias_with_measuring_resistors(written: str, wanted: dict[str, str]) -> None:
    build = built(PUSH_PULL + written)
    parts = parts_of(build)
    assert {name: words for name, words in parts.items() if ".cathode" in words} == wanted
    assert (parts["R107"], parts["C101"]) == ("130R | one cathodes | ground", "47u | one cathodes | ground")
    assert (build.part("V3").terminal("cathode").joint == "one cathodes") is ("false" in written)


def test_a_measuring_resistor_has_no_place_in_fixed_bias() -> None:
    text = f'{HEAD}{TUBES}[stage.one]\n{PUSH_PULL}bias = "bias"\nmeasuring_resistor = "1"'
    (finding,) = (f for f in read_text(text).findings if f.rule == "missing-key")
    assert str(finding) == (
        "build.toml:18:22: fault: stage one (push-pull output): measuring_resistor is missing or cannot be used "
        "[missing-key]\n"
        '   18 | measuring_resistor = "1"\n'
        "      |                      ^\n"
        "  found:  measuring_resistor beside bias\n"
        "  wanted: the cathode resistor alone: in fixed bias the idle is read across it\n"
        "  do:     take it out, or write its value as that of the cathode resistor"
    )


def test_bias_may_be_written_as_false() -> None:
    assert parts_of(built(f"{PUSH_PULL}bias = false")) == parts_of(built(PUSH_PULL))


@pytest.mark.parametrize("bias", [True, False])
def test_push_pull_output_in_fixed_and_in_cathode_bias(bias: bool) -> None:
    stage = (
        'use = "push-pull output"\ntube = "V2"\nsecond_tube = "V3"\n'
        'input_a = "a"\ninput_b = "b"\nscreen_supply = "B+2"\n'
    )
    build = built(stage + ('bias = "bias"' if bias else ""))
    values = sorted(parts_of(build).values())
    leak = "bias" if bias else "ground"
    cathodes = (
        ["1R | V2.cathode | ground", "1R | V3.cathode | ground"]
        if bias
        else ["130R | V2.cathode | ground", "47u | V2.cathode | ground"]
    )
    assert values == sorted(
        [
            *cathodes, f"220k | a | {leak}", f"220k | b | {leak}", "1k5 | a | V2.grid", "1k5 | b | V3.grid",
            "470R | B+2 | V2.screen", "470R | B+2 | V3.screen",
        ]
    )  # fmt: skip
    shared = build.part("V2").terminal("cathode").joint == build.part("V3").terminal("cathode").joint
    assert shared is not bias


NODES = (
    'nodes = [{ joint = "B+1", capacitor = "47u", volts = 500, bleeder = "220k" }, '
    '{ joint = "B+2", resistor = "10k", capacitor = "22u" }]'
)


def test_silicon_supply_with_capacitor_input() -> None:
    assert parts_of(built(f'use = "supply"\nac = ["ac 1", "ac 2"]\n{NODES}')) == {
        "CR101": "diode | ac 1 | B+1",
        "CR102": "diode | ac 2 | B+1",
        "C101": "47u | B+1 | ground",
        "R150": "220k | B+1 | ground",
        "R102": "10k | B+1 | B+2",
        "C102": "22u | B+2 | ground",
    }


def test_bridge_supply_has_two_diodes_from_ground() -> None:
    parts = parts_of(built(f'use = "supply"\nrectifier = "bridge"\nac = ["ac 1", "ac 2"]\n{NODES}'))
    assert [parts[f"CR10{n}"] for n in (1, 2, 3, 4)] == [
        "diode | ac 1 | B+1", "diode | ac 2 | B+1", "diode | ground | ac 1", "diode | ground | ac 2",
    ]  # fmt: skip


def test_tube_supply_with_choke_input() -> None:
    build = built(
        'use = "supply"\nrectifier = "tube"\ntube = "V4"\nac = ["ac 1", "ac 2"]\n'
        'nodes = [{ joint = "B+1", choke = { value = "5H", ohm = 110, amps = 0.1 }, capacitor = "47u" }]'
    )
    assert parts_of(build) == {"L101": "5H | one rectified | B+1", "C101": "47u | B+1 | ground"}
    tube = build.part("V4")
    assert [tube.terminal(n).joint for n in ("plate1", "plate2", "cathode")] == ["ac 1", "ac 2", "one rectified"]


def test_bias_supply_is_negative() -> None:
    assert parts_of(built('use = "bias supply"\nac = "ac"\noutput = "bias"')) == {
        "CR101": "diode | one raw | ac",
        "C101": "47u | ground | one raw",
        "R101": "15k | one raw | bias",
        "C102": "47u | ground | bias",
        "R102": "15k | bias | one low",
        "R103": "25k | ground | ground | one low",
    }


@pytest.mark.parametrize(
    ("reference", "wanted"),
    [
        ('"center tap"', {}),
        ('"resistors"', {"R101": "100R | heater 1 | ground", "R102": "100R | heater 2 | ground"}),
        ('"raised"\nfrom = "B+2"', {
            "R101": "100R | heater 1 | one level", "R102": "100R | heater 2 | one level",
            "R103": "220k | B+2 | one level", "R104": "22k | one level | ground", "C101": "22u | one level | ground",
        }),
    ],
)  # fmt: skip
def test_heater_supply(reference: str, wanted: dict[str, str]) -> None:
    build = built(f'use = "heater supply"\ntubes = ["V1", "V2"]\nreference = {reference}')
    assert parts_of(build) == wanted
    small, large = build.part("V1"), build.part("V2")
    assert [small.terminal(n).joint for n in ("heater1", "heater2", "heater_tap")] == ["heater 1"] * 2 + ["heater 2"]
    assert [large.terminal(n).joint for n in ("heater1", "heater2")] == ["heater 1", "heater 2"]


def test_reverb_driver_with_both_sections() -> None:
    build = built(
        'use = "reverb driver"\ntube = "V1a"\nsecond_tube = "V1b"\ninput = "in"\nsupply = "B+4"\nsend = "send"'
    )
    parts = parts_of(build)
    assert parts["C101"] == "1n | in | V1a.grid"
    assert parts["T101"] == "transformer | B+4 | V1a.plate | ground | send"
    tube = build.part("V1")
    for name in ("plate", "grid", "cathode"):
        assert tube.terminal(name, "a").joint == tube.terminal(name, "b").joint


def test_reverb_recovery() -> None:
    assert parts_of(built('use = "reverb recovery"\ntube = "V1a"\ninput = "in"\noutput = "out"\nsupply = "B+5"')) == {
        "R101": "220k | in | ground",
        "R102": "10k | in | V1a.grid",
        "R103": "100k | B+5 | V1a.plate",
        "R104": "1k5 | V1a.cathode | ground",
        "C101": "22u | V1a.cathode | ground",
        "C102": "4n7 | V1a.plate | out",
    }


def test_mains_has_fuse_switch_and_earth_bond() -> None:
    assert parts_of(built('use = "mains"\nline = "L"\nneutral = "N"\nfuse = 1.25')) == {
        "P101": "- | one line | one neutral | earth",
        "F101": "- | one line | one fused",
        "S101": "- | one fused | L | one neutral | N",
        "W101": "- | earth | chassis",
    }


def test_a_stage_of_ones_own_takes_and_overrides_keys() -> None:
    build = built(
        'use = "warm"\ntube = "V1a"\ninput = "in"\noutput = "out"\nplate_resistor = "220k"\n'
        '[ready.warm]\nuse = "warmer"\nsupply = "B+3"\nplate_resistor = "150k"\n'
        '[ready.warmer]\nuse = "common cathode"\ncathode_resistor = "2k7"'
    )
    parts = parts_of(build)
    assert (parts["R102"], parts["R103"]) == ("220k | B+3 | V1a.plate", "2k7 | V1a.cathode | ground")


@pytest.mark.parametrize(
    ("node", "found", "wanted", "do"),
    [
        ('bleder = "220k"', "bleder in node 1", "one of joint, capacitor, volts, resistor, choke, bleeder",
         "write bleeder"),
        ('farads = 3', "farads in node 1", "one of joint, capacitor, volts, resistor, choke, bleeder", "take it out"),
        ('resistor = "1k", choke = { value = "5H", ohm = 100, amps = 0.1 }', "a choke and a resistor in node 1",
         "one of them: each node is fed through one part", "take one out, or give the other a node of its own"),
    ],
)  # fmt: skip
def test_in_a_node_of_a_supply_nothing_vanishes(node: str, found: str, wanted: str, do: str) -> None:
    stage = f'use = "supply"\nac = ["a", "b"]\nnodes = [{{ joint = "B+1", capacitor = "47u", {node} }}]'
    said = [str(f) for f in read_text(f"{HEAD}{TUBES}[stage.one]\n{stage}").findings if f.rule == "missing-key"]
    assert [line for words in said for line in words.splitlines()[0:1] + words.splitlines()[-3:]] == [
        "build.toml:13:9: fault: stage one (supply): nodes is missing or cannot be used [missing-key]",
        f"  found:  {found}",
        f"  wanted: {wanted}",
        f"  do:     {do}",
    ]


def test_a_supply_without_its_winding_is_told_of_that_alone() -> None:
    stage = 'use = "supply"\nrectifier = "tube"\ntube = "V4"\nac = ["a"]\nnodes = [{ joint = "B+1", capacitor = "8u" }]'
    said = [f.found for f in read_text(f"{HEAD}{TUBES}[stage.one]\n{stage}").findings if "key" in f.rule]
    assert said == ["1 joints"]


def test_two_nodes_of_a_supply_on_one_joint_are_refused() -> None:
    nodes = '[{ joint = "B+1", capacitor = "8u" }, { joint = "B+1", resistor = "1k", capacitor = "8u" }]'
    text = f'{HEAD}{TUBES}[stage.one]\nuse = "supply"\nac = ["a", "b"]\nnodes = {nodes}'
    (said,) = (str(f).splitlines() for f in read_text(text).findings if f.rule == "missing-key")
    assert said[-3:] == [
        "  found:  node 2 on B+1, as the node before it",
        "  wanted: a joint of its own for each node",
        "  do:     give it the next name, such as B+2 after B+1",
    ]
