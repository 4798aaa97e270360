"""A power transformer from its label gives at its rated load what the label says."""

from __future__ import annotations

import pytest

from lugwright.buildfile.build import Transformer, Winding
from lugwright.buildfile.read import read_text
from lugwright.buildfile.regulation import regulation
from lugwright.circuit.elements import Coil, Resistor, VoltageSource, Windings
from lugwright.circuit.network import Circuit
from lugwright.findings import Finding
from lugwright.solve.idle import solve_idle

HEAD = 'format = 1\n[build]\ntitle = "Label"\nmains = { volts = 230, hertz = 50 }\n[stage.mains]\nduty = "mains"\n'
LOAD = 'R1 = { value = "1k", ends = ["p1", "ground"] }\nR2 = { value = "1k", ends = ["h1", "p2"] }\n' \
       'R3 = { value = "1k", ends = ["h2", "a1"] }\nR4 = { value = "1k", ends = ["a2", "ground"] }\n'  # fmt: skip


def read(primary: str, hv: str, heater: str, more: str = "regulation = 0.08") -> tuple[dict[str, Winding], list[str]]:
    """Return the windings and what was found of the transformer, or of its windings."""
    text = (
        f'{HEAD}{LOAD}[stage.mains.T1]\nkind = "power transformer"\n{more}\n'
        f'windings.primary = {{ {primary}, ends = ["p1", "p2"] }}\n'
        f'windings.hv = {{ {hv}, ends = ["h1", "ground", "h2"] }}\n'
        f'windings.heater = {{ {heater}, ends = ["a1", "a2"] }}\n'
    )
    result = read_text(text)
    told = [words(f) for f in result.findings if f.rule == "counts-differ"]
    values = result.build.part("T1").values if result.build else None
    return ({w.name: w for w in values.windings} if isinstance(values, Transformer) else {}), told


def words(finding: Finding) -> str:
    return f"{finding.what} | {finding.found} | {finding.wanted}"


def test_loaded_with_its_rated_amps_every_winding_gives_its_rated_volts() -> None:
    found, told = read("volts = 230", "rated_volts = [300, 300], amps = 0.12", "rated_volts = 6.3, amps = 3")
    assert told == []
    joints = {"primary": ("line", "ground"), "hv": ("a", "m", "b"), "heater": ("c", "d")}
    coils = [
        Coil(f"{name}.{k}", joints[name][k], joints[name][k + 1], turns, ohm)
        for name, winding in found.items()
        for k, (turns, ohm) in enumerate(zip(winding.turns, winding.ohms, strict=True))
    ]
    circuit = Circuit((
        VoltageSource("mains", "line", "ground", 0.0, 230.0, 1e-6), Windings("T1", tuple(coils), 1e4),
        Resistor("R1", "a", "b", 600.0 / 0.12), Resistor("R2", "c", "d", 6.3 / 3.0),
        Resistor("R3", "m", "ground", 1.0), Resistor("R4", "d", "ground", 1.0),
    ), mains_hz=50.0)  # fmt: skip
    parts = solve_idle(circuit)[0].parts
    # Both halves of the regulation are taken of the loaded volts, so a square of it is left over.
    assert parts["R1"].rms_a == pytest.approx(0.12, rel=0.08**2)
    assert parts["R2"].rms_a == pytest.approx(3.0, rel=0.08**2)


def test_without_load_the_volts_stand_higher_by_the_regulation() -> None:
    found, _ = read("volts = 230", "rated_volts = [300, 300], amps = 0.12", "rated_volts = 6.3, amps = 3")
    assert found["hv"].turns == pytest.approx((324.0, 324.0))
    assert found["primary"].turns == (230.0,)
    assert regulation(no_load_v=found["heater"].turns[0], full_load_v=6.3) == pytest.approx(0.08)


def test_what_was_measured_wins() -> None:
    found, told = read("volts = 230, ohms = 11", "volts = [330, 331], ohms = [80, 85], amps = 0.12",
                       "rated_volts = 6.3, amps = 3")  # fmt: skip
    assert told == []
    assert (found["hv"].turns, found["hv"].ohms) == ((330.0, 331.0), (80.0, 85.0))
    assert found["primary"].ohms == (11.0,)
    assert found["heater"].ohms == pytest.approx((0.5 * 0.08 * 6.3 / 3.0,))


@pytest.mark.parametrize(
    ("hv", "more", "expected"),
    [
        ("volts = [300, 300]", "", "T1: windings.hv does not fit the rest | no ohms | ohms of the copper, measured; or "
         "regulation of the transformer, from its sheet"),
        ("rated_volts = [300, 300], ohms = [80, 80]", "", "T1: windings.hv.rated_volts does not fit the rest | "
         "rated_volts without regulation | regulation of the power transformer"),
        ("rated_volts = [300, 300]", "regulation = 0.08", "T1: windings.hv does not fit the rest | neither ohms nor "
         "amps | ohms of the copper, or amps from the label"),
        ("rated_volts = [300], amps = 0.1", "regulation = 0.08", "T1: windings.hv.rated_volts does not fit the rest | "
         "1 entry for 3 ends | 2 entries"),
        ("turns = [300, 300], amps = 0.1", "regulation = 0.08", "T1: windings.hv.turns does not fit the rest | turns "
         "without ohms | volts, rated_volts, or ohms of the copper"),
    ],
)  # fmt: skip
def test_a_label_that_does_not_say_enough(hv: str, more: str, expected: str) -> None:
    _, told = read("volts = 230, ohms = 11", hv, "volts = 6.3, ohms = 0.1, amps = 3", more)
    assert expected in told


def test_a_primary_needs_the_amps_of_a_secondary() -> None:
    _, told = read("volts = 230", "volts = [300, 300], ohms = [80, 80]", "volts = 6.3, ohms = 0.1")
    assert told == [
        "T1: windings.primary does not fit the rest | no ohms, and no secondary with amps | ohms of the copper, or "
        "amps of the secondaries"
    ]


def test_an_output_transformer_has_no_regulation() -> None:
    text = (
        f'{HEAD}{LOAD}[stage.mains.T1]\nkind = "output transformer"\nregulation = 0.1\n'
        'windings.primary = { turns = 10, ohms = 100, ends = ["p1", "p2"] }\n'
        'windings.speaker = { turns = 1, ohms = 1, ends = ["a1", "a2"] }\n'
    )
    told = [words(f) for f in read_text(text).findings if f.rule == "counts-differ"]
    assert told == ["T1: regulation does not fit the rest | output transformer with regulation | a power transformer"]
