"""What can hurt is found in a whole amplifier, however it is wired, and never in a sound one."""

from __future__ import annotations

from pathlib import Path

import pytest

from lugwright.buildfile.read import read_text
from lugwright.findings import Grade

EXAMPLES = Path(__file__).parents[3] / "examples"
DUNLIN = (EXAMPLES / "dunlin_5.toml").read_text()


def dangers(text: str) -> list[tuple[str, str]]:
    """Return rule and words of every finding that can hurt."""
    return [(f.rule, f.what) for f in read_text(text).findings if f.grade is Grade.DANGER]


def edited(old: str, new: str) -> str:
    """Return the smallest demo build with one place changed."""
    assert DUNLIN.count(old) == 1
    return DUNLIN.replace(old, new)


@pytest.mark.parametrize("path", sorted(EXAMPLES.glob("*.toml")), ids=lambda p: p.stem)
def test_a_sound_amplifier_has_no_finding(path: Path) -> None:
    result = read_text(path.read_text())
    assert (result.findings, result.build is not None) == ((), True)


@pytest.mark.parametrize(
    ("old", "new", "wanted"),
    [
        ('neutral = "S1.2.common", earth', 'neutral = "ground", earth',
         ("mains-on-metal", "the mains neutral is joined to ground")),
        ('ends = ["S1.1.2", "S1.2.2"] }', 'ends = ["S1.1.2", "chassis"] }',
         ("mains-on-metal", "the mains line is joined to chassis")),
        ('poles = [["F1.2", "", "T1.primary.1"]', 'poles = [["F1.2", "earth", "T1.primary.1"]',
         ("mains-on-metal", "the mains line is joined to earth")),
        ('ends = ["P1.line", "S1.1.common"]', 'ends = ["P1.line", "0V"]',
         ("mains-on-metal", "the mains line is joined to ground")),
        ('ends = ["earth", "chassis"]', 'ends = ["earth", "ground"]',
         ("no-earth-bond", "the metal is not bonded to the protective earth")),
        ('earth = "earth"', 'earth = "green"',
         ("no-earth-bond", "the metal is not bonded to the protective earth")),
        ('ends = ["ground", "chassis"] }', 'ends = ["ground", "B+2"] }',
         ("supply-shorted", "W2 shorts B+2")),
        ('windings.speaker = { turns = [1], ohms = [0.5], ends = ["ground", "J2.tip"] }',
         'windings.speaker = { turns = [1], ohms = [0.5], ends = ["ground", "B+1"] }',
         ("supply-shorted", "T2 shorts B+1")),
        ('joined = [["heater 1"', 'joined = [["ground", "chassis"], ["heater 1"',
         ("reserved-joined", "ground and chassis are joined by name")),
        ('joined = [["heater 1"', 'joined = [["V1.heater1", "PE"], ["V1.heater1", "0V"], ["heater 1"',
         ("reserved-joined", "ground and earth are joined by name")),
        ('joined = [["heater 1"', 'joined = [["B+1", "ground"], ["heater 1"',
         ("supply-shorted", "B+1 is joined to ground")),
        ('joined = [["heater 1"', 'joined = [["spare", "B+1"], ["spare", "chassis"], ["heater 1"',
         ("supply-shorted", "B+1 is joined to chassis")),
    ],
)  # fmt: skip
def test_what_can_hurt_is_found(old: str, new: str, wanted: tuple[str, str]) -> None:
    text = edited(old, new)
    assert wanted in dangers(text)
    can_be_shown = wanted[0] == "no-earth-bond"  # its joints are all there; the danger is printed with everything
    assert (read_text(text).build is not None) == can_be_shown


@pytest.mark.parametrize(
    ("old", "new", "what"),
    [
        ('["B+3", "V1a.plate"]', '["B+3", "V1a.grid"]', None),
        ('joined = [["heater 1"', 'joined = [["V1a.plate", "V1a.grid"], ["heater 1"',
         "V1a.plate and V1a.grid are one joint"),
        ('joined = [["heater 1"', 'joined = [["V2.screen", "V2.plate"], ["heater 1"', None),
    ],
)  # fmt: skip
def test_electrodes_on_one_joint_are_doubtful_but_for_a_pentode_wired_as_triode(
    old: str, new: str, what: str | None
) -> None:
    found = [f.what for f in read_text(edited(old, new)).findings if f.rule == "electrodes-together"]
    assert found == ([] if what is None else [what])


def test_a_danger_is_shown_however_many_mistakes_stand_before_it() -> None:
    noise = "\n".join(f'R{n} = {{ value = "1k", ends = ["x{n}", "y{n}"] }}' for n in range(1000, 2000))
    text = edited("[chassis]", f"[stage.noise]\n{noise}\n[chassis]").replace('earth = "earth"', 'earth = "green"')
    result = read_text(text)
    assert result.build is None
    assert result.findings[0].rule == "no-earth-bond"
    loose = 2 * 1000 + 1  # both ends of each resistor, and the earth contact
    assert result.findings[-1].what == f"{loose - 500} more mistakes are not shown"


@pytest.mark.parametrize(
    ("old", "new", "found"),
    [
        ("windings.heater = { volts = [6.7]", "windings.heater = { turns = [6.7]",
         "volts in one winding, turns in another"),
        ("C3 = { value", 'C3 = { polar = true, style = "film", value', "polar = true on a film capacitor"),
        ('title = "Second stage"', "title = 2", "title = 2"),
        ('title = "Second stage"', 'title = "x"\nnumbers = -1', "numbers = -1"),
        ("[chassis]", "[[plan]]\nx = 1\n[chassis]", "[{'x': 1}]"),
    ],
)  # fmt: skip
def test_what_contradicts_itself_is_not_passed_over(old: str, new: str, found: str) -> None:
    result = read_text(edited(old, new))
    assert [f.found for f in result.findings if f.grade is Grade.FAULT] == [found]
    assert result.build is None


def test_a_mains_switch_left_off_is_told_of_once() -> None:
    text = edited('S1 = { label = "Mains", positions', 'S1 = { position = "off", label = "Mains", positions')
    (finding,) = read_text(text).findings
    assert str(finding).split(": ", 1)[1].splitlines()[0] == (
        "doubt: the amplifier is switched off in this file [switched-off]"
    )
    assert str(finding).splitlines()[3:] == [
        '  found:  S1 stands at "off"',
        "  wanted: the position that joins the line to the primary, to compute an amplifier at work",
        "  do:     write that position for S1; as it stands, no number here is one to check or set it by",
    ]


def test_a_line_that_meets_the_neutral_without_a_winding_between() -> None:
    text = edited('["P1.neutral", "", "T1.primary.2"]', '["P1.neutral", "", "T1.primary.1"]')
    (finding,) = (f for f in read_text(text).findings if f.rule == "mains-shorted")
    assert str(finding).split(": ", 1)[1].splitlines()[0] == (
        "danger: the mains line is joined to the neutral [mains-shorted]"
    )
    assert str(finding).splitlines()[3:] == [
        "  found:  S1 closes the way from P1, and no winding lies in it",
        "  wanted: the primary between them",
        "  do:     correct the ends of S1, or of the primary",
    ]
