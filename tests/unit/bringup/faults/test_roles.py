"""What each part of the demonstration builds is there for, told from its joints."""

from __future__ import annotations

import pytest

from .bench import case_of, faults

GODWIT = {
    "R1": "grid leak", "R2": "grid stopper", "R4": "plate load", "R5": "cathode resistor", "C1": "bypass",
    "R6": "tone part", "C7": "coupling", "R28": "grid leak", "R30": "cathode resistor", "R31": "tail",
    "R33": "feedback", "C16": "grid capacitor", "R35": "plate load", "C19": "coupling", "R37": "output grid leak",
    "R39": "grid stopper", "R41": "sense resistor", "R43": "screen resistor", "R47": "bias resistor",
    "R48": "bias resistor", "CR3": "bias diode", "C21": "bias filter", "C22": "bias filter", "CR1": "rectifier",
    "CR4": "catch diode", "C23.a": "reservoir", "C23.b": "filter", "R50": "bleeder", "R51": "dropping resistor",
    "R54": "bleeder", "C25": "filter", "L1": "choke", "R60": "load resistor",
}  # fmt: skip
REDSHANK = {
    "R69": "balancing resistor", "R70": "balancing resistor", "R71": "bleeder", "R72": "bleeder", "R73": "bleeder",
    "R75": "dropping resistor", "R76": "dropping resistor", "R79": "heater lift", "R80": "heater lift",
}  # fmt: skip


@pytest.mark.parametrize(("name", "roles"), [("godwit_40", GODWIT), ("redshank_50", REDSHANK)])
def test_parts_are_known_by_where_they_stand(name: str, roles: dict[str, str]) -> None:
    found = case_of(name).roles
    assert {part: found.get(part) for part in roles} == roles


def test_an_open_part_comes_under_the_entry_of_its_role() -> None:
    entries = {"R4": "F40", "R5": "F43", "R1": "F48", "R37": "F80", "R43": "F81", "R51": "F25", "R50": "F27",
               "R47": "F33", "R33": "F73", "R31": "F89", "C7": "F52", "C1": "F47", "C23.a": "F22", "C25": "F26",
               "CR1": "F20", "CR3": "F33", "L1": "F25", "R62": "F99"}  # fmt: skip
    assert {part: faults("godwit_40")[f"open {part}"].code for part in entries} == entries


def test_cathode_biased_output_tubes_have_their_own_roles() -> None:
    roles = case_of("dunlin_5").roles
    assert "output cathode resistor" in roles.values()
    assert "output bypass" in roles.values()
    assert "heater center" in roles.values()
