"""A part with another value as an edit of the circuit that was made of the build."""

from __future__ import annotations

from dataclasses import fields

from lugwright.buildfile.build import Build, Part
from lugwright.circuit.edits import Edit, SetValue
from lugwright.circuit.elements import Element
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
    elements = part_elements(build, part)
    return Edit(part.name, tuple(c for e in elements for c in value_changes(circuit.by_name[e.name], e)))


def value_changes(before: Element, after: Element) -> list[SetValue]:
    """Return what makes the values of one element those of another of its kind."""
    values = ((field.name, getattr(after, field.name)) for field in fields(after))
    return [
        SetValue(after.name, name, value)
        for name, value in values
        if isinstance(value, float) and value != getattr(before, name)
    ]
