"""A part with another value as an edit of the circuit that was made of the build."""

from __future__ import annotations

from dataclasses import fields

from lugwright.buildfile.build import Build, Part
from lugwright.circuit.edits import Edit, SetValue
from lugwright.circuit.from_build import part_elements
from lugwright.circuit.network import Circuit


def part_edit(build: Build, circuit: Circuit, part: Part) -> Edit:
    """Return the edit that gives the elements of a part the values they would be made with now.

    Parameters
    ----------
    build : Build
        The build that has the part, with any value.
    circuit : Circuit
        The circuit of that build.
    part : Part
        The part with its new value, on the same joints.

    Returns
    -------
    Edit
        Every value that differs from the circuit's.

    Source
    ------
    `part_elements`.
    """
    changes = []
    for element in part_elements(build, part):
        before = circuit.by_name[element.name]
        for field in fields(element):
            value = getattr(element, field.name)
            if isinstance(value, float) and value != getattr(before, field.name):
                changes.append(SetValue(element.name, field.name, value))
    return Edit(part.name, tuple(changes))
