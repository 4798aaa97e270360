"""A transformer described by its impedances has the turns that go with them."""

from __future__ import annotations

import pytest

from lugwright.buildfile.build import Transformer, Winding
from lugwright.buildfile.read import read_text

HEAD = (
    'format = 1\n[build]\ntitle = "Impedances"\nmains = { volts = 120, hertz = 60 }\n[stage.output]\nduty = "output"\n'
)
OHM = {"primary": [120.0, 130.0], "speaker": [0.2, 0.1, 0.15]}


def windings(primary: str, speaker: str) -> dict[str, Winding]:
    """Return the windings of a transformer with a center tap and three speaker taps."""
    text = (
        f'{HEAD}[stage.output.T2]\nkind = "output transformer"\n'
        f'windings.primary = {{ {primary}, ohms = [120, 130], ends = ["a", "B+1", "b"] }}\n'
        f'windings.speaker = {{ {speaker}, ohms = [0.2, 0.1, 0.15], ends = ["ground", "tap 4", "tap 8", "tap 16"] }}\n'
        'R1 = { value = "1k", ends = ["a", "b"] }\nR2 = { value = "8", ends = ["tap 4", "tap 8"] }\n'
        'R3 = { value = "8", ends = ["tap 16", "ground"] }\nR4 = { value = "8", ends = ["B+1", "ground"] }\n'
    ).replace("R1 =", "[stage.load]\nR1 =", 1)
    build = read_text(text).build
    assert build is not None
    values = build.part("T2").values
    assert isinstance(values, Transformer)
    assert (values.magnetizing_h, values.leakage_h) == (15.0, 0.0)
    return {winding.name: winding for winding in values.windings}


def test_6600_ohm_to_4_8_and_16_ohm_is_28_7_to_1_at_the_8_ohm_tap() -> None:
    found = windings("impedance = 6600", "impedance = [4, 8, 16]")
    primary, speaker = found["primary"], found["speaker"]
    assert primary.turns[0] == pytest.approx(primary.turns[1], rel=1e-12)
    assert sum(primary.turns) / sum(speaker.turns[:2]) == pytest.approx((6600.0 / 8.0) ** 0.5, rel=1e-12)
    for taps, ohm in ((1, 4.0), (2, 8.0), (3, 16.0)):
        ratio = sum(primary.turns) / sum(speaker.turns[:taps])
        assert ratio**2 * ohm == pytest.approx(6600.0, rel=1e-12)
    assert {name: list(winding.ohms) for name, winding in found.items()} == OHM
    assert (primary.impedances_ohm, speaker.impedances_ohm) == ((1650.0, 6600.0), (4.0, 8.0, 16.0))


def test_one_number_stands_for_equal_sections_and_a_list_for_each_tap() -> None:
    one = windings("impedance = 6600", "impedance = 9")
    several = windings("impedance = [1650, 6600]", "impedance = [1, 4, 9]")
    assert one["primary"].turns == several["primary"].turns
    assert one["speaker"].turns == pytest.approx(several["speaker"].turns, rel=1e-12)
    assert several["speaker"].turns == pytest.approx((1.0, 1.0, 1.0), rel=1e-12)


def test_the_same_transformer_in_turns_differs_by_a_common_factor_only() -> None:
    by_ohm = windings("impedance = 8000", "impedance = [2, 8, 32]")
    by_turns = windings("turns = [15.8113883008419, 15.8113883008419]", "turns = [0.5, 0.5, 1]")
    factors = [
        a / b
        for name, winding in by_ohm.items()
        for a, b in zip(winding.turns, by_turns[name].turns, strict=True)
    ]  # fmt: skip
    assert factors == pytest.approx([factors[0]] * 5, rel=1e-12)
    assert by_turns["primary"].impedances_ohm == ()
