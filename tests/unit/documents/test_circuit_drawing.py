"""Circuit drawings: every part once, nothing on anything, and the wires drawn say what the build file says."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from functools import lru_cache
from itertools import combinations
from pathlib import Path
from xml.etree import ElementTree

import pytest

from lugwright.buildfile.build import Build, Capacitor, Resistor, Terminal, Tube
from lugwright.buildfile.part_words import short_unit
from lugwright.buildfile.read import read_build
from lugwright.circuit.from_build import circuit_from_build
from lugwright.circuit.operating import Idle
from lugwright.documents.book.circuit_pages import ENLARGED
from lugwright.documents.drawings import circuit_stage
from lugwright.documents.drawings.circuit_figure import FLAG_SIZE, VOLTS_SIZE, WORDS_SIZE, Mark, Wire
from lugwright.documents.drawings.circuit_stage import StageDrawing, circuit_overlaps, stage_svgs
from lugwright.documents.drawings.svg import CAP_HEIGHT
from lugwright.quantities import with_unit
from lugwright.solve.idle import solve_idle

from .odd_build import odd_build

EXAMPLES = Path(__file__).parents[3] / "examples"
NAMES = ("dunlin_5", "curlew_18", "godwit_40", "redshank_50")
Point = tuple[float, float]
SIGNS = ("ground", "chassis", "earth")
HEATER = ("heater1", "heater2", "heater_tap")


@lru_cache
def solved(name: str) -> tuple[Build, Idle]:
    build = read_build(EXAMPLES / f"{name}.toml").build
    assert build is not None
    return build, solve_idle(circuit_from_build(build))[0]


@lru_cache
def drawings(name: str) -> tuple[StageDrawing, ...]:
    return stage_svgs(*solved(name))


def wanted_ends(build: Build) -> Counter[tuple[str, str]]:
    """Return how often each part (each section of a double tube) has a terminal at each joint, heaters apart."""
    found: Counter[tuple[str, str]] = Counter()
    for part in build.parts:
        for terminal in part.terminals:
            if terminal.joint and terminal.name not in HEATER:
                found[part.name + terminal.section, terminal.joint] += 1
    return found


def owner_of(key: str) -> str:
    return key.split(".")[0]


@pytest.mark.parametrize("name", NAMES)
def test_every_part_is_drawn_once(name: str) -> None:
    build, _ = solved(name)
    keys = Counter(key for drawing in drawings(name) for key in drawing.parts)
    assert not [key for key, times in keys.items() if times > 1]
    for part in build.parts:
        if isinstance(part.values, Tube):
            assert all(keys[part.name + section.letter] == 1 for section in part.values.type.sections)
            assert keys[f"{part.name}.heater"] == 1
        else:
            stages = {d.stage for d in drawings(name) for key in d.parts if owner_of(key) == part.name}
            assert stages == {part.stage}


@pytest.mark.parametrize("name", NAMES)
def test_every_terminal_is_drawn_at_its_joint(name: str) -> None:
    build, _ = solved(name)
    drawn: Counter[tuple[str, str]] = Counter()
    for drawing in drawings(name):
        for end in drawing.ends:
            if end.owner and not end.owner.endswith(".heater"):
                drawn[owner_of(end.owner), end.joint] += 1
    for (owner, joint), count in wanted_ends(build).items():
        assert drawn[owner, joint] >= 1, (owner, joint)
        if owner[0] in "VTJ":
            assert drawn[owner, joint] == count
    stray = {pair for pair in drawn if pair not in wanted_ends(build)}
    assert not stray


@pytest.mark.parametrize("name", NAMES)
def test_nothing_lies_on_anything(name: str) -> None:
    assert not [fault for drawing in drawings(name) for fault in circuit_overlaps(drawing)]


def test_an_overlap_is_seen() -> None:
    drawing = drawings("dunlin_5")[1]
    symbol = next(mark for mark in drawing.marks if mark.kind == "symbol")
    x0, y0, x1, y1 = symbol.bounds
    assert circuit_overlaps(replace(drawing, marks=(*drawing.marks, Mark("words", "R99", (x0, y0, x1, y1)))))
    through = Wire("nowhere", (x0 - 1.0, (y0 + y1) / 2.0), (x1 + 1.0, (y0 + y1) / 2.0))
    assert circuit_overlaps(replace(drawing, wires=(*drawing.wires, through)))


def on_wire(p: Point, wire: Wire) -> bool:
    (ax, ay), (bx, by) = wire.a, wire.b
    return (
        min(ax, bx) - 1e-3 <= p[0] <= max(ax, bx) + 1e-3
        and min(ay, by) - 1e-3 <= p[1] <= max(ay, by) + 1e-3
        and (abs(ax - bx) < 1e-3 or abs(ay - by) < 1e-3)
    )


def touching(one: Wire, other: Wire) -> bool:
    return any(on_wire(p, other) for p in (one.a, one.b)) or any(on_wire(p, one) for p in (other.a, other.b))


def wiring_faults(drawing: StageDrawing) -> list[str]:
    """Return wires that seem to join different joints, and terminals a reader could not follow to their joint."""
    faults = [
        f"{a.joint} touches {b.joint}"
        for a, b in combinations(drawing.wires, 2)
        if a.joint != b.joint and touching(a, b)
    ]
    for end in drawing.ends:
        faults += [
            f"{end.owner} touches {w.joint}" for w in drawing.wires if w.joint != end.joint and on_wire(end.at, w)
        ]
    for joint in sorted({end.joint for end in drawing.ends}):
        groups = drawn_groups(drawing, joint)
        if len(groups) > 1:
            faults += [f"{joint} falls apart at {owners}" for owners in groups if "" not in owners]
        faults += [f"{joint} ends bare" for owners in groups if len(owners) < 2]
    return faults


def drawn_groups(drawing: StageDrawing, joint: str) -> list[list[str]]:
    """Return what is joined by wires of one joint: the owners of the ends in each connected group."""
    wires = [w for w in drawing.wires if w.joint == joint]
    ends = [e for e in drawing.ends if e.joint == joint]
    parent = list(range(len(wires) + len(ends)))

    def root(k: int) -> int:
        while parent[k] != k:
            k = parent[k]
        return k

    for a, b in combinations(range(len(wires)), 2):
        if touching(wires[a], wires[b]):
            parent[root(a)] = root(b)
    for k, end in enumerate(ends, len(wires)):
        for a, wire in enumerate(wires):
            if on_wire(end.at, wire):
                parent[root(a)] = root(k)
        for m, other in enumerate(ends[: k - len(wires)], len(wires)):
            if abs(other.at[0] - end.at[0]) + abs(other.at[1] - end.at[1]) < 1e-3:
                parent[root(m)] = root(k)
    groups: dict[int, list[str]] = {}
    for k, end in enumerate(ends, len(wires)):
        groups.setdefault(root(k), []).append(end.owner)
    return list(groups.values())


@pytest.mark.parametrize("name", NAMES)
def test_wires_join_what_the_build_joins_and_nothing_else(name: str) -> None:
    assert not [(d.stage, fault) for d in drawings(name) for fault in wiring_faults(d)]


def test_a_wrong_wire_is_seen() -> None:
    drawing = next(d for d in drawings("dunlin_5") if d.stage == "second")
    cut = replace(drawing, wires=tuple(w for w in drawing.wires if w.joint != "V1b.plate"))
    assert wiring_faults(cut)
    plate = next(w for w in drawing.wires if w.joint == "V1b.plate")
    assert wiring_faults(
        replace(drawing, wires=(*drawing.wires, Wire("ground", plate.a, (plate.a[0] + 9, plate.a[1]))))
    )


@pytest.mark.parametrize("name", NAMES)
def test_joints_that_leave_a_drawing_are_flagged(name: str) -> None:
    build, _ = solved(name)
    for drawing in drawings(name):
        flagged = {mark.owner for mark in drawing.marks if mark.kind == "flag"}
        here = {owner_of(key) for key in drawing.parts}
        for joint in {end.joint for end in drawing.ends} - {*SIGNS}:
            elsewhere = [t for t in build.joints.get(joint, ()) if not drawn_here(t, here)]
            assert joint in flagged or not elsewhere, (drawing.stage, joint)


def drawn_here(terminal: Terminal, here: set[str]) -> bool:
    return terminal.part + terminal.section in here or (terminal.name in HEATER and terminal.part in here)


@pytest.mark.parametrize("name", NAMES)
def test_drawings_fit_a_page_and_are_sound_xml(name: str) -> None:
    for drawing in drawings(name):
        assert drawing.width_mm <= 260.0
        assert drawing.height_mm <= 180.0
        root = ElementTree.fromstring(drawing.svg.encode())
        named = [name for element in root.iter() if (name := element.get("data-part"))]
        assert sorted(named) == sorted(drawing.parts)


@pytest.mark.parametrize("name", NAMES)
def test_every_direct_voltage_that_says_something_is_written(name: str) -> None:
    _, idle = solved(name)
    for drawing in drawings(name):
        assert drawing.left_out == ()
        written = {mark.owner for mark in drawing.marks if mark.kind == "volts"}
        for end in drawing.ends:
            reading = idle.joints.get(end.joint)
            if reading and abs(reading.volts) > 0.01 and reading.ripple_rms_v < 0.5 and end.joint not in SIGNS:
                assert end.joint in written, (drawing.stage, end.joint)
        tubes = [key for key in drawing.parts if key in idle.tubes]
        assert all(tube in written for tube in tubes)


def test_the_same_build_draws_the_same_bytes() -> None:
    assert [d.svg for d in stage_svgs(*solved("curlew_18"))] == [d.svg for d in drawings("curlew_18")]


@pytest.mark.parametrize("width", [120.0, 150.0, 200.0])
def test_a_stage_too_wide_is_cut_and_stays_right(monkeypatch: pytest.MonkeyPatch, width: float) -> None:
    monkeypatch.setattr(circuit_stage, "PAGE_WIDTH", width)
    monkeypatch.setattr(circuit_stage, "ROW_WIDTH", width - 5.0)
    build, idle = solved("godwit_40")
    cut = stage_svgs(build, idle)
    assert max(d.width_mm for d in cut) <= width
    keys = Counter(key for d in cut for key in d.parts)
    assert keys == Counter(key for d in drawings("godwit_40") for key in d.parts)
    assert not [fault for d in cut for fault in (*circuit_overlaps(d), *wiring_faults(d))]


@pytest.mark.parametrize("seed", range(25))
def test_whatever_is_joined_to_whatever_is_drawn_right(seed: int) -> None:
    build, idle = odd_build(seed)
    drawn = stage_svgs(build, idle)
    assert not [(d.stage, fault) for d in drawn for fault in (*circuit_overlaps(d), *wiring_faults(d))]
    keys = Counter(key for d in drawn for key in d.parts)
    assert not [key for key, times in keys.items() if times > 1]
    sections = {p.name + s.letter for p in build.parts if isinstance(p.values, Tube) for s in p.values.type.sections}
    others = {p.name for p in build.parts if not isinstance(p.values, Tube) and any(t.joint for t in p.terminals)}
    assert sections | others <= {owner_of(key) for key in keys}
    assert all(d.width_mm <= 260.0 for d in drawn)


@pytest.mark.parametrize("name", NAMES)
def test_parts_are_named_with_their_values(name: str) -> None:
    build, _ = solved(name)
    for part in build.parts:
        words = {element.text for d in drawings(name) if d.stage == part.stage for element in texts(d.svg)}
        if isinstance(part.values, Resistor):
            assert {part.name, short_unit(part.values.ohm, "Ω")} <= words
        elif isinstance(part.values, Capacitor):
            assert {part.name, short_unit(part.values.farad, "F"), f"{part.values.volts:g} V"} <= words
        elif isinstance(part.values, Tube):
            everywhere = {element.text for d in drawings(name) for element in texts(d.svg)}
            assert {part.name + s.letter for s in part.values.type.sections} <= everywhere


@pytest.mark.parametrize("name", NAMES)
def test_transformers_of_the_examples_are_drawn_with_windings(name: str) -> None:
    words = [element.text or "" for d in drawings(name) for element in texts(d.svg)]
    assert not [word for word in words if word.startswith("primary.")]


def test_alternating_high_voltage_is_said() -> None:
    _, idle = solved("godwit_40")
    words = {element.text for d in drawings("godwit_40") if d.stage == "mains" for element in texts(d.svg)}
    assert "~" + with_unit(idle.joints["T1.hv.1"].ripple_rms_v, "V") in words


def texts(svg: str) -> list[ElementTree.Element]:
    return list(ElementTree.fromstring(svg.encode()).iter("{http://www.w3.org/2000/svg}text"))


def test_words_and_readings_are_2_mm_high_in_the_book_where_the_page_lets_a_drawing_be_enlarged() -> None:
    for size in (WORDS_SIZE, VOLTS_SIZE, FLAG_SIZE):
        assert size * CAP_HEIGHT * ENLARGED >= 2.0


def test_the_shield_of_a_pentode_goes_to_its_own_joint(tmp_path: Path) -> None:
    text = (EXAMPLES / "dunlin_5.toml").read_text(encoding="utf-8")
    stage = """
[stage.pentode]
title = "Pentode"
duty = "gain"
joined = [
  ["V3.suppressor", "V3.cathode"], ["V3.shield", "ground"], ["heater 1", "V3.heater1"], ["heater 2", "V3.heater2"],
]
R30 = { value = "220k", watts = 1, ends = ["B+3", "V3.plate"] }
R31 = { value = "1M", watts = 1, ends = ["B+3", "V3.screen"] }
R32 = { value = "2k2", ends = ["V3.cathode", "ground"] }
R33 = { value = "1M", ends = ["V3.grid", "ground"] }
C30 = { value = "100n", volts = 400, ends = ["V3.screen", "ground"] }

[chassis]"""
    file = tmp_path / "pentode.toml"
    text = text.replace('V2 = "6V6GT"', 'V2 = "6V6GT"\nV3 = "EF86"').replace("\n[chassis]", stage)
    file.write_text(text, encoding="utf-8")
    build = read_build(file).build
    assert build is not None
    drawing = next(d for d in stage_svgs(build, solve_idle(circuit_from_build(build))[0]) if d.title == "Pentode")
    assert circuit_overlaps(drawing) == []
    drawn = Counter((owner_of(end.owner), end.joint) for end in drawing.ends if not end.owner.endswith(".heater"))
    assert drawn["V3", "ground"] == 1
    assert drawn["V3", "V3.cathode"] == 2  # cathode and suppressor
    assert ">2,7<" in drawing.svg
