"""The wiring side: its drawing has a hook for everything in the tables, and the tables are those of the plan."""

from __future__ import annotations

import re
from typing import Any

import pytest

from lugwright.circuit.operating import JointIdle
from lugwright.errors import AskError
from lugwright.web.asked.asked import NoArgs
from lugwright.web.asked.table import ASKED
from lugwright.web.asked.wiring import View
from lugwright.web.asked.wiring_tables import volts_words
from lugwright.web.desk import Desk
from lugwright.workflow import tick, worst_volts


def _asked(what: str, desk: Desk) -> Any:
    return ASKED[what].answer(desk, NoArgs())


def test_the_drawing_has_a_hook_for_every_wire_part_and_terminal_in_use(desk: Desk) -> None:
    svg, tables = _asked("wiring", desk)["svg"], _asked("wiring tables", desk)
    assert svg.startswith("<svg")
    assert set(re.findall(r'data-wire="([^"]+)"', svg)) == set(tables["wires"])
    in_use = {key for key, row in tables["terminals"].items() if row["leads"] or row["kind"] != "bus"}
    assert set(re.findall(r'data-terminal="([^"]+)"', svg)) == in_use
    assert {name for name, part in tables["parts"].items() if part["seated"]} <= set(
        re.findall(r'data-part="([^"]+)"', svg)
    )
    assert " style=" not in svg


def test_the_tables_say_what_the_plan_says(desk: Desk) -> None:
    tables, plan = _asked("wiring tables", desk), desk.opened.plan
    for wire in plan.wires:
        row = tables["wires"][f"W{wire.number}"]
        assert (row["joint"], tuple(row["ends"]), row["color"]) == (wire.joint, wire.terminals, wire.color)
    for joint, row in tables["joints"].items():
        assert row["terminals"] == [key for key, t in plan.terminals.items() if t.joint == joint]
    cards = tables["cards"]
    assert [card["number"] for card in cards] == list(range(1, len(cards) + 1))
    assert all(row["cards"] for row in tables["wires"].values())
    cut = {number: row.length_mm for row in desk.opened.work_order.cut_list for number in row.wires}
    assert {name: row["cut"] for name, row in tables["wires"].items() if row["cut"]} == {
        f"W{number}": f"{length:g} mm" for number, length in cut.items()
    }


def test_every_wire_bus_and_seated_part_has_its_layer(desk: Desk) -> None:
    tables = _asked("wiring tables", desk)
    seated = {name for name, part in tables["parts"].items() if part["seated"]}
    assert set(tables["layers"]) == {*tables["wires"], *tables["buses"], *seated}
    assert set(tables["layers"].values()) <= set(_asked("wiring", desk)["layers"])
    assert {tables["layers"][name] for name in seated if tables["parts"][name]["layer"] == 1} == {"parts"}


def test_volts_of_a_joint_are_those_at_idle_and_at_worst(desk: Desk) -> None:
    tables, opened = _asked("wiring tables", desk), desk.opened
    plate = tables["joints"]["V1a.plate"]
    assert plate["volts"].startswith(f"{opened.idle.joints['V1a.plate'].volts:.0f} V dc")
    assert plate["worst"] == round(worst_volts(opened)["V1a.plate"], 1) > opened.idle.joints["V1a.plate"].volts
    assert tables["joints"]["ground"]["worst"] == 0.0
    assert tables["touch_v"] == 60.0


def test_volts_in_words_name_what_swings() -> None:
    assert volts_words(JointIdle(235.2, 0.1, 0.3)) == "235 V dc"
    assert volts_words(JointIdle(300.0, 9.0, 25.0)) == "300 V dc, 9.00 V ac"
    assert volts_words(JointIdle(0.001, 3.15, 8.9)) == "3.15 V ac"
    assert volts_words(JointIdle(0.0, 0.0, 0.0)) == "0 V"


def test_what_is_ticked_is_in_the_state_by_the_names_of_the_tables(desk: Desk) -> None:
    plan = desk.opened.plan
    wire, seat = plan.wires[0], plan.seats[0]
    assert _asked("wiring state", desk)["next"] == 1
    lead, end = f"{seat.part}.{seat.lead_names[0]}", seat.terminals[0]
    tick(desk.opened, leads=[f"W{wire.number}", lead])
    state, tables = _asked("wiring state", desk), _asked("wiring tables", desk)
    assert state["wires"] == {f"W{wire.number}": sorted(wire.terminals)}
    assert (state["leads"], state["soldered"]) == ([lead], [])
    assert lead in tables["terminals"][end]["leads"]
    assert (state["in"], state["of"]) == (3, sum(len(job.leads) for job in desk.opened.work_order.jobs))
    tick(desk.opened, terminals=[end])
    state = _asked("wiring state", desk)
    assert state["soldered"] == [end]
    assert {x for x in tables["terminals"][end]["leads"] if not x.startswith("W")} <= set(state["leads"])


def test_ohms_are_told_by_joint_with_their_window(desk: Desk) -> None:
    ohms = _asked("wiring readings", desk)["ohms"]
    chart = desk.opened.ohms_chart.readings
    assert sum(len(rows) for rows in ohms.values()) == len(chart)
    said = [row["reads"] for rows in ohms.values() for row in rows]
    assert all(re.search(r"Ω \(.+Ω.*\)$|^over range, at least .+Ω$", words) for words in said)


def test_without_a_plan_the_page_says_so(desk: Desk) -> None:
    desk.path.with_suffix(".plan.json").unlink()
    found = _asked("wiring", desk)
    assert (found["plan"], found["svg"]) == ("none", "")
    assert found["words"] == "There is no plan yet: which lug carries what has not been worked out."
    assert _asked("wiring tables", desk) == {"plan": "none"}
    assert _asked("wiring state", desk) == {"plan": "none"}


def test_a_plan_of_an_earlier_state_of_the_build_is_not_shown_as_this_ones(desk: Desk) -> None:
    text = desk.path.read_text(encoding="utf-8")
    strip = next(line for line in text.splitlines() if line.startswith("A = "))
    moved = re.sub(r"at = \[(\d+)", lambda m: f"at = [{int(m[1]) + 2}", strip)
    desk.path.write_text(text.replace(strip, moved), encoding="utf-8")
    found = _asked("wiring", desk)
    assert (found["plan"], found["svg"]) == ("stale", "")
    assert found["words"] == "The build file has changed since this was planned; the plan has to follow it."


def test_other_views_show_the_same_plan_with_the_same_hooks(desk: Desk) -> None:
    tables, listed = _asked("wiring tables", desk), _asked("wiring", desk)
    for strip in listed["strips"]:
        svg = _view(desk, f"strip {strip}")
        lugs = {key for key, row in tables["terminals"].items() if row["owner"] == strip}
        assert set(re.findall(r'data-terminal="([^"]+)"', svg)) == lugs
    assert listed["sockets"] == ["V1", "V2"]
    pins = set(re.findall(r'data-terminal="([^"]+)"', _view(desk, "socket V1")))
    assert pins == {f"V1.{pin}" for pin in range(1, 10)}
    assert "TOP SIDE" in _view(desk, "top")


def test_a_view_that_is_not_there_is_refused(desk: Desk) -> None:
    for name in ("strip Q", "socket R1", "bottom"):
        with pytest.raises(AskError) as refused:
            _view(desk, name)
        assert str(refused.value) == (
            f"there is no such view\n  found:  {name}\n"
            '  wanted: "top", "strip A" or "socket V1" of this build\n  do:     choose one of the list'
        )


def _view(desk: Desk, name: str) -> str:
    found: str = ASKED["wiring view"].answer(desk, View(name=name))["svg"]
    return found
