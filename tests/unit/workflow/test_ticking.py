"""Ticks are kept by what was put where; plans, cards and refusals follow them."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from lugwright.errors import FileAccessError, LogError, PlanError
from lugwright.layout.plan_file import plan_to_text
from lugwright.workflow import (
    Opened,
    exported,
    noted,
    open_build,
    progress_now,
    taken_in,
    tick,
    where_it_stands,
    write_plan,
)

DUNLIN = Path(__file__).parents[3] / "examples/dunlin_5.toml"
Bench = Callable[..., Opened]


@pytest.fixture(scope="module")
def planned(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder with the demo build and its plan."""
    folder = tmp_path_factory.mktemp("planned")
    shutil.copy(DUNLIN, folder / "amp.toml")
    write_plan(open_build(folder / "amp.toml"))
    return folder


@pytest.fixture
def folder(planned: Path, tmp_path: Path) -> Path:
    """Return a copy of it to work in."""
    for path in planned.iterdir():
        shutil.copy(path, tmp_path / path.name)
    return tmp_path


def opened(folder: Path, **how: object) -> Opened:
    """Open the build anew."""
    return open_build(folder / "amp.toml", **how)


def change(folder: Path, old: str, new: str) -> None:
    """Change the build file."""
    path = folder / "amp.toml"
    text = path.read_text()
    assert old in text
    path.write_text(text.replace(old, new, 1))


def wiring_card(build: Opened, part: str) -> int:
    """Return the number of the card on which a part goes in."""
    return next(job.number for job in build.work_order.jobs if part in job.parts)


def test_a_card_ticked_is_done_and_its_leads_are_known_by_their_places(folder: Path) -> None:
    build = opened(folder)
    number = wiring_card(build, "R3")
    ticked = tick(build, cards=[1, number])
    assert ticked.already == ()
    progress = progress_now(build)
    assert progress is not None
    assert [c.number for c in progress.cards if c.state == "done"] == [1, number]
    assert progress.next_card == 2
    assert opened(folder).progress == progress
    bench = opened(folder).bench_log.bench
    seat = next(s for s in build.plan.seats if s.part == "R3")
    assert [bench.leads["R3", lead].terminal for lead in ("1", "2")] == list(seat.terminals)
    assert bench.leads["R3", "1"].value.startswith("100 kΩ 1 W")


def test_ticking_twice_writes_nothing_twice_and_undo_takes_all_of_it_back(folder: Path) -> None:
    number = wiring_card(opened(folder), "R3")
    first = tick(opened(folder), cards=[number])
    again = tick(opened(folder), cards=[number])
    assert again.entries == ()
    assert len(again.already) == len(first.entries)
    back = tick(opened(folder), cards=[number], undo=True)
    assert len(back.entries) == len(first.entries)
    assert not opened(folder).bench_log.bench
    assert tick(opened(folder), cards=[number], undo=True).entries == ()


def test_single_leads_wires_and_terminals(folder: Path) -> None:
    build = opened(folder)
    wire = next(w for w in build.plan.wires if not w.bond and w.type != "lead")
    tick(build, leads=["R3.1", f"W{wire.number}.2", "C7.+"])
    bench = opened(folder).bench_log.bench
    assert set(bench.leads) == {("R3", "1"), ("C7", "1")}
    (laid,) = bench.wires.values()
    assert list(laid.ends) == [wire.terminals[1]]
    assert laid.record["number"] == wire.number
    key = next(s for s in build.plan.seats if s.part == "R3").terminals[0]
    tick(opened(folder), terminals=[build.plan.terminals[key].label.upper()])
    bench = opened(folder).bench_log.bench
    assert set(bench.soldered) == {key}
    frozen = opened(folder).bench_log.frozen
    assert {f"{part}.{lead}" for part, lead, at in frozen.leads if at == key} <= set(build.plan.leads_at(key))
    assert len([1 for x in build.plan.leads_at(key)]) == sum(at == key for *_, at in frozen.leads) + sum(
        key in bench.wires[k].ends for k in bench.wires
    )
    tick(opened(folder), terminals=[key], undo=True)
    assert set(opened(folder).bench_log.bench.soldered) == set()
    assert ("R3", "1") in opened(folder).bench_log.bench.leads
    tick(opened(folder), leads=["R3", f"W{wire.number}"], undo=True)
    assert ("R3", "1") not in opened(folder).bench_log.bench.leads


def test_taking_a_lead_out_opens_its_joint(folder: Path) -> None:
    key = next(s for s in opened(folder).plan.seats if s.part == "R3").terminals[0]
    tick(opened(folder), terminals=[key])
    tick(opened(folder), leads=["R3"], undo=True)
    assert opened(folder).bench_log.bench.soldered == {}


def test_ticks_change_no_byte_of_the_plan(folder: Path) -> None:
    before = plan_to_text(opened(folder).plan)
    tick(opened(folder), cards=range(1, 20))
    build = opened(folder)
    assert plan_to_text(build.plan) == before
    assert build.moves == ()


def test_another_value_changes_no_byte_but_the_fingerprint_and_the_swap_is_told(folder: Path) -> None:
    tick(opened(folder), leads=["R3"])
    before = opened(folder).plan
    change(folder, 'R3 = { value = "100k"', 'R3 = { value = "120k"')
    build = opened(folder)
    old, new = (plan_to_text(p).replace(p.fingerprint, "") for p in (before, build.plan))
    assert new == old
    assert build.moves == ()
    (finding,) = build.swapped
    assert str(finding).splitlines()[1:] == [
        f"  found:  100 kΩ 1 W (brown black yellow gold), put in on {build.bench_log.bench.last[:10]}",
        "  wanted: 120 kΩ 1 W (brown red yellow gold)",
        "  do:     swap it: lugwright tick FILE --undo --lead R3, then tick it again",
    ]
    assert finding.what == "R3 has another value now than when it was put in"
    assert finding in build.plan_findings
    assert opened(folder, changes=["R3=150k"]).swapped == ()


def test_a_part_more_in_a_finished_amplifier_moves_nothing_and_the_cards_show_what_is_left(folder: Path) -> None:
    count = len(opened(folder).work_order.jobs)
    tick(opened(folder), cards=range(1, count + 1))
    assert where_it_stands(opened(folder)).next_card == 0
    change(folder, "C2 = {", 'R30 = { value = "470k", ends = ["R5.3", "ground"] }\nC2 = {')
    build = opened(folder)
    assert [(m.what, m.before, m.why) for m in build.moves if m.kind == "part"] == [("R30", "", "new in the circuit")]
    assert build.bench_log.frozen.is_in(build.plan)
    write_plan(build)
    progress = where_it_stands(opened(folder))
    left = [card for card in progress.cards if card.state != "done"]
    assert sum(not lead for card in left for lead in card.leads) >= 2
    numbers = {card.number for card in left}
    jobs = [job for job in opened(folder).work_order.jobs if job.number in numbers]
    assert {lead.what for job in jobs for lead in job.leads} >= {"R30"}


def test_a_circuit_that_contradicts_what_is_soldered_is_planned_as_if_it_were_not(folder: Path) -> None:
    count = len(opened(folder).work_order.jobs)
    tick(opened(folder), cards=range(1, count + 1))
    change(
        folder,
        'R10 = { value = "220k", ends = ["drive", "ground"] }',
        'R10 = { value = "220k", ends = ["drive", "V2.cathode"] }',
    )
    with pytest.raises(PlanError) as caught:
        _ = opened(folder).plan
    assert caught.value.what.startswith("R10.2 is soldered to ")
    assert "in the circuit R10.2 goes to V2.cathode" in caught.value.found
    build = opened(folder, unsolder=True)
    assert build.to_unsolder[0].startswith("R10.2 is soldered to ")
    assert {m.what for m in build.moves if m.kind == "part"} == {"R10"}
    tick(opened(folder), leads=["R10"], undo=True)
    write_plan(opened(folder))
    assert where_it_stands(opened(folder)).next_card > 0


def test_a_changed_build_is_planned_before_it_is_ticked(folder: Path) -> None:
    change(folder, "C2 = {", 'R30 = { value = "470k", ends = ["R5.3", "ground"] }\nC2 = {')
    for work in (lambda: tick(opened(folder), cards=[1]), lambda: where_it_stands(opened(folder))):
        with pytest.raises(LogError) as caught:
            work()
        assert str(caught.value) == (
            "amp.toml has changed since it was planned\n"
            "  found:  cards and wires may have other numbers now\n"
            "  wanted: the plan of the build file as it is\n"
            "  do:     plan again, and look at the new cards: lugwright plan FILE"
        )
    (folder / "amp.plan.json").unlink()
    with pytest.raises(LogError) as caught:
        tick(opened(folder), cards=[1])
    assert str(caught.value) == (
        "there is no plan to tick off\n"
        "  found:  no amp.plan.json\n"
        "  wanted: the plan whose cards are done\n"
        "  do:     plan first: lugwright plan FILE"
    )


def test_what_is_not_in_the_plan_is_refused_with_the_nearest_name(folder: Path) -> None:
    count = len(opened(folder).work_order.jobs)
    lead = "a part or wire of the plan, or one lead of it: R3, R3.1, W12, W12.2"
    terminal = 'a terminal of the plan: "strip A lug 4", A.4, "V1 pin 3", V1.3'
    for how, what, found, wanted, do in (
        ({"cards": [999]}, "card 999", f"{count} cards", f"1 to {count}", "look at the cards: lugwright jobs FILE"),
        ({"leads": ["R3.7"]}, "lead R3.7", "R3.7", lead, "write R3.2"),
        ({"leads": ["@"]}, "lead @", "@", lead, "look it up: lugwright jobs FILE"),
        (
            {"terminals": ["strip Q lug 1"]},
            "terminal strip Q lug 1",
            "strip Q lug 1",
            terminal,
            "write 'strip E lug 1'",
        ),
        ({"terminals": ["@"]}, "terminal @", "@", terminal, "look it up: lugwright plan FILE"),
    ):
        words = f"there is no {what}\n  found:  {found}\n  wanted: {wanted}\n  do:     {do}"
        with pytest.raises(LogError) as caught:
            tick(opened(folder), **how)
        assert str(caught.value) == words
    assert opened(folder).bench_log.entries == ()


def test_several_copies_are_kept_apart_and_one_must_be_named(folder: Path) -> None:
    tick(opened(folder, serial="7"), leads=["R3"])
    tick(opened(folder, serial="8"), leads=["R4"])
    assert set(opened(folder).bench_log.bench.leads) == {("R4", "1"), ("R4", "2")}
    assert set(opened(folder, serial="7").bench_log.bench.leads) == {("R3", "1"), ("R3", "2")}
    with pytest.raises(LogError) as caught:
        tick(opened(folder), leads=["R6"])
    assert str(caught.value) == (
        "the log holds several copies of this build\n"
        "  found:  copies 7, 8\n"
        "  wanted: which one it is about\n"
        "  do:     add --serial 8, or another one's"
    )


def test_notes_exports_and_imports(folder: Path, tmp_path: Path) -> None:
    tick(opened(folder), leads=["R3"])
    noted(opened(folder), "solder is 60/40")
    for name in ("log.csv", "log.jsonl"):
        assert exported(opened(folder), folder / name) == 3
        other = tmp_path / f"other {name}"
        other.mkdir()
        for path in (folder / "amp.toml", folder / "amp.plan.json"):
            shutil.copy(path, other / path.name)
        assert taken_in(opened(other), folder / name) == (3, 3)
        assert taken_in(opened(other), folder / name) == (0, 3)
        assert opened(other).bench_log.bench == opened(folder).bench_log.bench
    with pytest.raises(FileAccessError) as caught:
        taken_in(opened(folder), folder / "nowhere")
    assert (caught.value.found, caught.value.wanted) == ("No such file or directory", "an export of a log")


def test_a_wire_that_is_none_is_named(folder: Path) -> None:
    body = {"terminal": "A.1", "wire": {"joint": "x", "terminals": ["A.1", "A.2"], "number": "four"}}
    opened(folder).bench_log.log.append("1", [("lead in", "W4", body)])
    with pytest.raises(LogError) as caught:
        _ = opened(folder).bench_log.frozen
    assert caught.value.what == "a wire in amp.log.sqlite cannot be read"
    assert caught.value.wanted == "a wire as lugwright tick writes it"
    assert caught.value.do == "tick that wire off with lugwright tick FILE --undo --lead W..., and on again"


def test_a_damaged_log_stops_planning_in_words(folder: Path) -> None:
    (folder / "amp.log.sqlite").write_bytes(b"no log" * 999)
    with pytest.raises(LogError, match="cannot be read as a log"):
        _ = opened(folder).plan
