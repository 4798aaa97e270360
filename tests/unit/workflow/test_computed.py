"""What follows from a circuit alone can be worked out in a process that knows nothing else."""

from __future__ import annotations

import dataclasses
import subprocess
import sys
import types
import typing
from collections.abc import Iterator, Mapping
from enum import Enum

import pytest

from lugwright.buildfile.build import Build
from lugwright.layout.hardware import Hardware
from lugwright.layout.results import Plan
from lugwright.workorder.results import WorkOrder

READING_AND_DRAWING = ("pydantic", "lugwright.buildfile.read", "lugwright.layout.lug_plan", "lugwright.documents")


def test_who_computes_beside_loads_nothing_that_reads_plans_or_draws() -> None:
    asked = f"import sys, lugwright.workflow.computed; print([m for m in {READING_AND_DRAWING!r} if m in sys.modules])"
    told = subprocess.run([sys.executable, "-c", asked], capture_output=True, text=True, check=True)
    assert told.stdout.strip() == "[]"


def leaves(kind: typing.Any, seen: set[typing.Any]) -> Iterator[typing.Any]:
    """Yield what a record is made of in the end, to any depth, each kind once."""
    if kind in seen:
        return
    seen.add(kind)
    origin, inner = typing.get_origin(kind), typing.get_args(kind)
    if dataclasses.is_dataclass(kind):
        hints = typing.get_type_hints(kind)
        inner = tuple(hints[field.name] for field in dataclasses.fields(kind))
    elif origin is typing.Literal:
        inner = tuple(type(word) for word in inner)
    elif origin not in (typing.Union, types.UnionType, tuple, list) and not (origin and issubclass(origin, Mapping)):
        yield kind
        return
    for each in inner:
        if each is not Ellipsis:
            yield from leaves(each, seen)


@pytest.mark.parametrize("record", [Build, Plan, Hardware, WorkOrder], ids=lambda r: r.__name__)
def test_whatever_stands_in_a_question_can_be_told(record: type) -> None:
    """A part of any kind, also one that no example has."""
    found = list(leaves(record, set()))
    assert len(found) > 2
    assert [kind for kind in found if not issubclass(kind, str | int | float | Enum | types.NoneType)] == []
