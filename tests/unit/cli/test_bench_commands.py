"""What tick, next, log, and jobs and plan beside them, print for a person after a week's break."""

from __future__ import annotations

import sys
from dataclasses import replace
from datetime import UTC, datetime

import pytest
from click.testing import CliRunner, Result

from lugwright.cli.app import app
from lugwright.cli.progress_text import last_line
from lugwright.layout.results import Move
from lugwright.log.state import Bench, PartLead

from .small_job import ENTRY, Opened, Workflow


@pytest.fixture
def workflow(monkeypatch: pytest.MonkeyPatch) -> Workflow:
    """Return what stands where the workflow stands."""
    stand_in = Workflow(Opened())
    monkeypatch.setitem(sys.modules, "lugwright.workflow", stand_in)
    return stand_in


def run(*arguments: str) -> Result:
    """Run a command."""
    return CliRunner().invoke(app, [*arguments])


def all_done(opened: Opened) -> None:
    """Tick everything off."""
    cards = {(job.phase, job.title): ("t", job.text) for job in opened.work_order.jobs if not job.leads}
    leads, wires = {}, {}
    for job in opened.work_order.jobs:
        for lead in job.leads:
            seat = next((s for s in opened.plan.seats if s.part == lead.what), None)
            if seat is not None:
                name = seat.lead_names[seat.terminals.index(lead.terminal)]
                leads[lead.what, name] = PartLead(lead.what, name, lead.terminal, "", "", 1, "t")
            else:
                wire = next(w for w in opened.plan.wires if f"W{w.number}" == lead.what)
                ends = dict.fromkeys((*wire.terminals, wire.shield), "t")
                wires[tuple(sorted(wire.terminals))] = type("Laid", (), {"ends": ends, "record": {}})()
    soldered = dict.fromkeys(opened.plan.terminals, "t")
    opened.bench_log.bench = Bench(leads, wires, soldered, cards, (), "2026-11-18T20:15:00.000000Z")


def test_tick_says_what_was_written_and_what_comes_next(workflow: Workflow) -> None:
    result = run("tick", "small.toml", "1", "2", "--lead", "R3.1", "--terminal", "A.1", "--undo")
    assert workflow.ticked == [{"cards": (1, 2), "leads": ("R3.1",), "terminals": ("A.1",), "undo": True}]
    count = len(workflow.opened.work_order.jobs)
    leads = sum(len(job.leads) for job in workflow.opened.work_order.jobs)
    joints = workflow.opened.progress.joints
    assert result.stdout.splitlines() == [
        "lead in: R3 lead 1 to strip A lug 1",
        "nothing to do: R4 lead 1 to A 2",
        f"Copy 1: 0 of {count} cards done, 0 of {leads} leads in, 0 of {joints} joints soldered.",
        "Next: card 1, Drill, punch, deburr.",
    ]


def test_tick_without_anything_says_what_it_wants(workflow: Workflow) -> None:
    result = run("tick", "small.toml")
    assert result.exit_code == 2
    assert "say what is done: the numbers of cards, --lead, --terminal, --note or --photo" in result.stderr


def test_a_picture_is_kept_by_name_with_what_it_shows(workflow: Workflow) -> None:
    lines = run("tick", "small.toml", "--photo", "inside.jpg=before the heaters").stdout.splitlines()
    assert "photo: inside.jpg: before the heaters" in lines


def test_a_note_is_printed_and_a_changed_build_is_told_of(workflow: Workflow) -> None:
    workflow.now = lambda opened: None
    lines = run("tick", "small.toml", "--note", "new solder").stdout.splitlines()
    assert lines[1:] == [
        "note: new solder",
        "nothing to do: R4 lead 1 to A 2",
        "The circuit or the plan has changed: plan again, lugwright plan small.toml",
    ]


def test_many_leads_are_counted(workflow: Workflow, monkeypatch: pytest.MonkeyPatch) -> None:
    many = [replace(ENTRY, subject=f"R{n} lead 1 to A 1") for n in range(12)]
    many += [replace(ENTRY, kind="soldered", subject="A 1"), replace(ENTRY, kind="job checked", subject="card X")]
    ticked = workflow.tick(workflow.opened)
    written = replace(ticked, entries=tuple(many), already=())
    monkeypatch.setattr(Workflow, "tick", lambda self, opened, **done: written)
    assert run("tick", "small.toml", "1").stdout.splitlines()[:2] == [
        "job checked: card X",
        "12 leads in, 1 joints soldered",
    ]
    undone = [replace(e, kind="taken out", body={"undone": e.kind}) for e in many]
    monkeypatch.setattr(
        Workflow, "tick", lambda self, opened, **done: replace(ticked, entries=tuple(undone), already=())
    )
    lines = run("tick", "small.toml", "1", "--undo").stdout.splitlines()
    assert lines[:2] == ["undone: card X", "undone: 12 leads in, 1 joints soldered"]


def test_next_prints_the_first_card_in_full_with_the_caution(workflow: Workflow) -> None:
    lines = run("next", "small.toml").stdout.splitlines()
    assert lines[0] == "Small"
    assert lines[2] == "Nothing is ticked yet."
    assert lines[4] == (
        "Before a hand goes in: plug out, wait, and measure every filter capacitor below 60 V, also when you think it "
        "was never switched on."
    )
    assert lines[6:8] == ["Next:", "Card 1, metalwork: Drill, punch, deburr"]
    assert lines[-1] == "When it is done: lugwright tick small.toml 1"


def test_next_says_what_is_half_done(workflow: Workflow) -> None:
    lead = PartLead("R3", "1", "A.1", "A 1", "", 1, "2026-11-18T20:15:00.000000Z")
    workflow.opened.bench_log.bench = Bench({("R3", "1"): lead}, {}, {"V1.1": "t"}, {}, (), lead.time)
    text = run("next", "small.toml").stdout
    card = next(job for job in workflow.opened.work_order.jobs if any(x.what == "R3" for x in job.leads))
    assert f"Begun:\n  card {card.number}, {card.title}\n" in text
    waiting = next(line for line in text.splitlines() if line.startswith("  strip A lug 1: "))
    assert waiting.startswith("  strip A lug 1: R3 1 in it, still to come ")
    assert "\nSoldered too early:\n  V1 pin 1 (plate): melt it again, something is still to go in\n" in text


def test_next_says_when_everything_is_done(workflow: Workflow) -> None:
    all_done(workflow.opened)
    result = run("next", "small.toml")
    assert result.stdout.splitlines()[-1] == (
        "Every card is done. What comes now is in the power-up charts: lugwright charts small.toml"
    )
    assert run("tick", "small.toml", "1").stdout.splitlines()[-1] == "Every card is done."


def test_jobs_cross_off_what_is_done(workflow: Workflow) -> None:
    first, second = workflow.opened.work_order.jobs[:2]
    bench = Bench({}, {}, {}, {(first.phase, first.title): ("t", first.text)}, (), "t")
    workflow.opened.bench_log.bench = bench
    blocks = run("jobs", "small.toml").stdout.split("\n\n")
    assert blocks[0] == f"Card 1, metalwork: {first.title}: done"
    assert blocks[1].startswith(f"Card 2, {second.phase}: {second.title}\n")
    lines = run("jobs", "small.toml", "--card", "1").stdout.splitlines()
    assert lines[0] == f"Card 1, metalwork: {first.title} (done)"
    assert f"  [x] {first.text[0]}" in lines
    changed = {(first.phase, first.title): ("t", (*first.text[:1], "something that was there before"))}
    workflow.opened.bench_log.bench = replace(bench, cards=changed)
    lines = run("jobs", "small.toml", "--card", "1").stdout.splitlines()
    assert lines[0] == f"Card 1, metalwork: {first.title} (begun)"
    assert f"  [x] {first.text[0]}" in lines
    assert any(line.startswith("  [ ] ") for line in lines)


def test_plan_says_what_it_moved_and_what_to_unsolder(workflow: Workflow) -> None:
    workflow.opened.moves = (
        Move(
            "R3",
            "part",
            "strip A lug 1 to V1 pin 1",
            "strip A lug 2 to V1 pin 1",
            "A.1 carries B+2 now (R9.1)",
        ),
        Move("W7", "wire", "", "strip A lug 2 to strip B lug 1", "joins R3.1 to B+3"),
    )
    workflow.opened.to_unsolder = ("R9.1 is soldered to strip B lug 3: that carries B+1",)
    text = run("plan", "small.toml").stdout
    assert "Changed against the plan before: 1 parts moved." in text
    assert "R3    strip A lug 1 to V1 pin 1  strip A lug 2 to V1 pin 1       A.1 carries B+2 now (R9.1)" in text
    assert "W7    -                          strip A lug 2 to strip B lug 1  joins R3.1 to B+3" in text
    assert (
        "Unsolder first, and tick it off (lugwright tick small.toml --undo --lead ...):\n"
        "  R9.1 is soldered to strip B lug 3: that carries B+1\n"
    ) in text


def test_log_is_a_table_and_says_what_it_did(workflow: Workflow) -> None:
    assert run("log", "small.toml").stdout.splitlines() == [
        "id        time (UTC)        copy  what     of",
        "--------  ----------------  ----  -------  --------------------------",
        "00000000  2026-11-18 20:15  1     lead in  R3 lead 1 to strip A lug 1",
    ]
    assert run("log", "small.toml", "--serial", "2").stdout == "Nothing is in the log yet.\n"
    assert run("log", "small.toml", "--take-back", "0123456789").stdout == "taken back: 01234567\n"
    assert run("log", "small.toml", "--export", "x.csv").stdout == "1 entry written\n"
    assert run("log", "small.toml", "--import", "x.csv").stdout == "2 new entries taken in, 1 there already\n"


@pytest.mark.parametrize(
    ("now", "said"),
    [
        (datetime(2026, 11, 18, 23, tzinfo=UTC), "Last entry: 18 November 2026, today."),
        (datetime(2026, 11, 19, 1, tzinfo=UTC), "Last entry: 18 November 2026, yesterday."),
        (datetime(2026, 11, 25, 12, tzinfo=UTC), "Last entry: 18 November 2026, 7 days ago."),
    ],
)
def test_how_long_ago_is_in_words(now: datetime, said: str) -> None:
    assert last_line(replace(Opened().progress, last="2026-11-18T20:15:00.000000Z"), now) == said
