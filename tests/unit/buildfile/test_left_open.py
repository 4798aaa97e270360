"""Strips without a place and buses without points are left to the program; an empty section says "none"."""

from __future__ import annotations

from pathlib import Path

from lugwright.buildfile.build import ALL_OPEN, Build, LeftOpen, OpenBus, OpenStrip
from lugwright.buildfile.read import ReadResult, read_build

HEAD = """format = 1
[build]
title = "Small"
mains = { volts = 120, hertz = 60 }
[stage.one]
R1 = { value = "1k", ends = ["a", "ground"] }
R2 = { value = "1k", ends = ["a", "ground"] }
"""
CHASSIS = "[chassis]\ninside = [200, 120, 50]\n"


def read(tmp_path: Path, text: str) -> ReadResult:
    file = tmp_path / "small.toml"
    file.write_text(HEAD + text, encoding="utf-8")
    return read_build(file)


def build_of(tmp_path: Path, text: str) -> Build:
    build = read(tmp_path, text).build
    assert build is not None
    return build


def test_without_chassis_nothing_is_left_open(tmp_path: Path) -> None:
    assert build_of(tmp_path, "").left_open == LeftOpen()


def test_without_strips_and_bus_both_are_left_open(tmp_path: Path) -> None:
    left_open = build_of(tmp_path, CHASSIS).left_open
    assert left_open == ALL_OPEN
    assert left_open.any_strips
    assert left_open.buses == (OpenBus("ground", "ground", 14.0),)


def test_empty_sections_say_none(tmp_path: Path) -> None:
    assert not build_of(tmp_path, f"{CHASSIS}[strips]\n[bus]\n").left_open


def test_a_strip_without_a_place_is_open_and_the_stated_one_stays(tmp_path: Path) -> None:
    build = build_of(tmp_path, f"{CHASSIS}[strips]\nA = {{ lugs = 4, foot = 2, at = [20, 30] }}\nB = {{}}\n"
                               "C = { lugs = 5, feet = [3], turn = 90 }\n[bus]\n")  # fmt: skip
    assert [strip.name for strip in build.strips] == ["A"]
    found = [(s.name, s.lugs, s.feet, s.turn, s.type) for s in build.left_open.strips]
    assert found == [("B", None, None, None, "strip 9.5"), ("C", 5, (3,), 90.0, "strip 9.5")]
    assert not build.left_open.any_strips
    assert isinstance(build.left_open.strips[0], OpenStrip)
    assert build.strip_names == ("A", "B", "C")


def test_a_bus_without_points_is_open_with_its_height_and_joint(tmp_path: Path) -> None:
    build = build_of(tmp_path, f'{CHASSIS}[strips]\n[bus]\nzero = {{ joint = "ground", height = 16 }}\n')
    assert build.buses == ()
    assert build.left_open.buses == (OpenBus("zero", "ground", 16.0),)


def test_a_strip_with_a_place_and_no_lugs_is_refused_in_these_words(tmp_path: Path) -> None:
    found = [f for f in read(tmp_path, f"{CHASSIS}[strips]\nA = {{ at = [20, 30], foot = 2 }}\n").findings
             if f.part == "A"]  # fmt: skip
    assert [(f.rule, f.what, f.found, f.wanted, f.do) for f in found] == [
        (
            "missing-key",
            "strip A: lugs is missing",
            "only at, foot",
            "how many lugs, feet included, or neither lugs, feet nor at",
            "write lugs = ... there",
        )
    ]


def test_wishes_may_name_a_strip_that_is_left_open(tmp_path: Path) -> None:
    text = f'{CHASSIS}[strips]\nB = {{}}\n[plan.keep_off]\nR1 = ["B"]\n[plan.on]\na = ["B.2"]\n'
    result = read(tmp_path, text)
    assert result.build is not None
    assert result.build.wishes.keep_off == {"R1": ("B",)}
    assert result.build.wishes.on == {"a": ("B.2",)}
