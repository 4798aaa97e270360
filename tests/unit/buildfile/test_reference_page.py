"""What the reference page shows is read as the page says."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from lugwright.buildfile.build import Build
from lugwright.buildfile.read import read_text
from lugwright.buildfile.ready_made import READY_MADE
from lugwright.buildfile.records import KIND_OF_LETTERS, PART_KINDS
from lugwright.buildfile.stages import DUTIES
from lugwright.findings import Finding

PAGE = (Path(__file__).parents[3] / "docs/reference/build_file.md").read_text()
BLOCKS = re.findall(r"```toml\n(.*?)```", PAGE, re.DOTALL)
HEAD = 'format = 1\n[build]\ntitle = "Page"\nmains = { volts = 120, hertz = 60 }\n'
TUBES = '[tubes]\nV1 = "12AX7"\n'
# A fragment leaves ends open and names parts it does not show; anything else is a mistake of the page.
OPEN_IN_A_FRAGMENT = {
    "joint-used-once", "unused-electrode", "unknown-terminal", "unknown-part", "no-earth-bond", "no-ground",
    "no-stage", "no-place", "no-speaker", "no-chassis", "floating-grid", "unknown-wish",
}  # fmt: skip


def read_block(block: str) -> tuple[Build | None, tuple[Finding, ...]]:
    """Return what a block of the page reads as, in the smallest frame."""
    result = read_text(HEAD + ("" if block.startswith("[tubes]") else TUBES) + block)
    return result.build, result.findings


def block_with(text: str) -> str:
    """Return the one block that holds a text."""
    (found,) = (block for block in BLOCKS if text in block)
    return found


@pytest.mark.parametrize("block", BLOCKS, ids=[block.split("\n")[0] for block in BLOCKS])
def test_a_block_has_no_mistake_but_open_ends(block: str) -> None:
    findings = read_block(block)[1]
    assert [str(f) for f in findings if f.rule not in OPEN_IN_A_FRAGMENT] == []


def test_the_page_shows_a_part_of_every_letter() -> None:
    shown = {match[1] for match in re.finditer(r"^([A-Z]+)\d+ = ", block_with("One of each"), re.MULTILINE)}
    assert shown == set(KIND_OF_LETTERS) - {"T"}


@pytest.mark.parametrize("word", [*PART_KINDS, *READY_MADE, *DUTIES])
def test_the_page_names_every_kind_stage_and_duty(word: str) -> None:
    assert f"`{word}`" in PAGE


def test_the_page_names_every_key_of_every_part() -> None:
    keys = {key for model in PART_KINDS.values() for key in model.model_fields}
    assert sorted(key for key in keys if f"`{key}`" not in PAGE and f"`{key} = " not in PAGE) == []
