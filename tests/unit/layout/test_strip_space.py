"""Lugs and feet stand clear of walls, sockets, cans, leads and panel parts; strips of each other."""

from __future__ import annotations

import itertools
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from lugwright.buildfile.build import Strip
from lugwright.buildfile.read import read_build
from lugwright.layout.chassis import fixed_terminals
from lugwright.layout.hardware import hardware_for
from lugwright.layout.strip_lines import Pattern, lines_of
from lugwright.layout.strip_moves import Rules, changes, longer, may_stand
from lugwright.layout.strip_space import Disc, Rect, Space, free_space
from lugwright.layout.strip_windows import MOST_LUGS, foot_holds, windows_for

from .amplifier import amplifier

BUILD, VOLTS = amplifier(1)
HARDWARE = hardware_for(BUILD)
BARE = replace(BUILD, strips=(), buses=())
TERMINALS = fixed_terminals(BARE, HARDWARE)
SPACE = free_space(BARE, HARDWARE, TERMINALS)
PITCH = 9.5


def plain(width: float = 200.0, depth: float = 100.0) -> Space:
    space = free_space(replace(BARE, parts=(), placements={}), HARDWARE, {})
    step = 0.5
    shape = (int(depth / step) + 1, int(width / step) + 1)
    return replace(
        space, width=width, depth=depth, step=step, lugs=np.ones(shape, dtype=bool), feet=np.ones(shape, dtype=bool)
    )


def test_no_lug_stands_at_a_wall_a_socket_a_lead_or_under_a_panel_part() -> None:
    assert BUILD.chassis is not None
    width, depth = BUILD.chassis.width_mm, BUILD.chassis.depth_mm
    assert not SPACE.lug_may_stand(9.0, depth / 2.0)
    assert not SPACE.lug_may_stand(width - 9.0, depth / 2.0)
    assert not SPACE.lug_may_stand(-1.0, 50.0)
    tube = BUILD.placements["V1"].at
    assert not SPACE.lug_may_stand(*tube)
    assert not SPACE.lug_may_stand(tube[0] + 21.0, tube[1])
    for t in TERMINALS.values():
        if t.kind in ("exit", "bolt", "pot", "jack", "panel"):
            assert not SPACE.lug_may_stand(t.x_mm, t.y_mm), t.key


def test_no_foot_stands_under_a_transformer_where_a_lug_may() -> None:
    names = [n for n, p in BUILD.placements.items() if BUILD.part(n).kind.endswith("transformer")]
    assert names
    for name in names:
        assert not SPACE.foot_may_stand(*BUILD.placements[name].at)


def test_what_is_taken_out_of_a_space_is_gone_and_the_space_it_came_from_is_whole() -> None:
    space = plain()
    less = space.without([Disc(50.0, 50.0, 10.0), Rect(100.0, 20.0, 120.0, 40.0)])
    assert not less.lug_may_stand(50.0, 50.0)
    assert not less.lug_may_stand(59.5, 50.0)
    assert less.lug_may_stand(60.5, 50.0)
    assert not less.lug_may_stand(101.0, 39.0)
    assert space.lug_may_stand(50.0, 50.0)


@pytest.mark.parametrize("name", ["dunlin_5", "curlew_18", "godwit_40"])
def test_strips_that_builders_drew_stand_in_the_free_area(name: str) -> None:
    build = read_build(Path(__file__).parents[3] / "examples" / f"{name}.toml").build
    assert build is not None
    hardware = hardware_for(build)
    terminals = fixed_terminals(build, hardware)
    space = free_space(replace(build, strips=()), hardware, terminals)
    for t in terminals.values():
        if t.kind in ("lug", "foot"):
            assert space.lug_may_stand(t.x_mm, t.y_mm), t.key
        if t.kind == "foot":
            assert space.foot_may_stand(t.x_mm, t.y_mm), t.key


def test_lines_cover_the_free_area_and_no_two_rows_are_too_near() -> None:
    lines = lines_of(BARE, SPACE, TERMINALS, Pattern(0, 10.0, 38.0), PITCH, 999)
    assert sum(run.count for run in lines.runs) >= 40
    for run in lines.runs:
        assert run.count >= 3
        assert all(SPACE.lug_may_stand(*site) for site in run.sites)
    levels = sorted({run.at[1] for run in lines.runs if run.turn == 0})
    assert all(b - a >= 22.0 for a, b in itertools.pairwise(levels))


def test_no_more_places_than_asked_for_and_those_nearest_to_what_is_wired() -> None:
    wide = lines_of(BARE, SPACE, TERMINALS, Pattern(0, 10.0, 38.0), PITCH, 999)
    few = lines_of(BARE, SPACE, TERMINALS, Pattern(0, 10.0, 38.0), PITCH, 30)
    assert sum(run.count for run in few.runs) <= 30
    assert {site for run in few.runs for site in run.sites} <= {site for run in wide.runs for site in run.sites}


@pytest.mark.parametrize("lugs", [8, 15, 30])
def test_windows_have_a_foot_that_may_stand_and_as_many_lugs_as_wanted(lugs: int) -> None:
    lines = lines_of(BARE, SPACE, TERMINALS, Pattern(0, 10.0, 38.0), PITCH, 999)
    leads = {(n, k): (7 * n + 3 * k) % 4 for n, run in enumerate(lines.runs) for k in range(run.count)}
    windows = windows_for(lines.runs, leads, SPACE, lugs, 2.0)
    assert sum(w.free for w in windows) == lugs
    taken = [(w.run, w.start + k) for w in windows for k in range(w.count)]
    assert len(set(taken)) == len(taken)
    for w in windows:
        assert 3 <= w.count <= MOST_LUGS
        assert SPACE.foot_may_stand(*lines.runs[w.run].site(w.foot))
        assert foot_holds(w.count, w.foot - w.start + 1)


def test_windows_are_worth_most_by_trying_all_pairs() -> None:
    """A run of six places, a strip of three: the table finds what trying every choice finds."""
    space = plain()
    lines = lines_of(BARE, space, {}, Pattern(0, 50.0, 60.0), PITCH, 999)
    (run,) = [run for run in lines.runs if run.turn == 0 and run.at[1] == 50.0]
    run = replace(run, count=6)
    leads = dict(enumerate([3, 0, 2, 1, 0, 4]))
    windows = windows_for([run], {(0, k): n for k, n in leads.items()}, space, 2, 0.0)
    best = max(
        (sum(leads[k] for k in range(start, start + 3)) - min(leads[start + f] + 0.3 * abs(f - 1) for f in range(3)))
        for start in range(4)
    )
    assert len(windows) == 1
    window = windows[0]
    assert window.count == 3
    assert window.value == pytest.approx(best, abs=0.31)


def strip(name: str, x: float, y: float, lugs: int = 5, turn: float = 0.0) -> Strip:
    return Strip(name, lugs, (3,), (x, y), turn, "strip 9.5")


def rules(space: Space, names: str = "AB", sized: str = "") -> Rules:
    return Rules({"strip 9.5": PITCH}, space, frozenset(names), True, frozenset(sized))


def test_two_rows_need_room_for_a_body_and_two_ends_a_gap() -> None:
    a = strip("A", 30.0, 30.0)
    assert not may_stand(strip("B", 30.0, 51.0), [a], rules(plain()))
    assert may_stand(strip("B", 30.0, 52.5), [a], rules(plain()))
    assert not may_stand(strip("B", 76.0, 30.0), [a], rules(plain()))
    assert may_stand(strip("B", 77.5, 30.0), [a], rules(plain()))


def test_changes_keep_strips_standing_and_leave_sized_ones_their_lugs() -> None:
    a, b = strip("A", 30.0, 30.0), strip("B", 100.0, 60.0)
    leads = {f"A.{k}": 1 for k in (2, 4)} | {f"B.{k}": 2 for k in (1, 2, 4, 5)}
    found = list(changes((a, b), leads, rules(plain(), sized="B")))
    names = [name for name, _ in found]
    assert names[:3] == ["without its empty ends", "without A", "without B"]
    assert found[0][1][0] == replace(a, lugs=3, at=(39.5, 30.0), feet=(2,))
    for _, strips in found[1:]:
        for one in strips:
            assert may_stand(one, [other for other in strips if other is not one], rules(plain()))
            assert one.name == "A" or one.lugs == 5
    assert any(name == "A across +3" for name in names)
    assert any(name == "A shorter" for name in names)


def test_a_strip_the_builder_states_never_moves() -> None:
    a, b = strip("A", 30.0, 30.0), strip("B", 100.0, 60.0)
    for _, strips in changes((a, b), {}, rules(plain(), names="A")):
        assert b in strips


def test_a_foot_carries_five_lugs_a_side_and_only_short_strips_on_their_end() -> None:
    assert foot_holds(4, 1)
    assert not foot_holds(5, 1)
    assert not foot_holds(5, 5)
    assert foot_holds(10, 5)
    assert foot_holds(7, 2)
    assert not foot_holds(8, 2)


def test_a_lug_to_spare_is_added_behind_the_last_of_the_shortest_strip() -> None:
    a, b = strip("A", 30.0, 30.0, lugs=6), strip("B", 100.0, 60.0)
    assert next(longer((a, b), rules(plain()))) == (a, replace(b, lugs=6))
    assert list(longer((a, b), rules(plain(), names=""))) == []
