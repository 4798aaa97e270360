"""A stored plan with a proposed strip is the plan of its build: the steps before mains name its places."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

from tests.planned_examples import example

from lugwright.bringup.look_list import NO_PLAN
from lugwright.layout.plan_file import plan_to_text
from lugwright.workflow import open_build


def test_the_look_list_names_places_of_a_plan_on_a_proposed_strip(tmp_path: Path) -> None:
    stated = example("dunlin_5")
    path = tmp_path / "amp.toml"
    path.write_text(re.sub(r"(?m)^E = { lugs.*$", "E = {}", stated.path.read_text()))
    strip = next(strip for strip in stated.written.strips if strip.name == "E")
    path.with_suffix(".plan.json").write_text(plan_to_text(replace(stated.plan, strips=(strip,), buses=())))
    opened = open_build(path)
    assert opened.written.left_open
    look = opened.before_mains[0].do
    assert (
        f"Every job card done: {len(stated.plan.wires)} wires, {len(stated.plan.seats)} parts, no lead left over."
        in look
    )
    path.write_text(path.read_text().replace("V2 = { at = [160, 70]", "V2 = { at = [161, 70]"))
    assert NO_PLAN in open_build(path).before_mains[0].do
