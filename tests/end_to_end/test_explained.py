"""A real plan explains itself: every part, joint, wire and lug of an example, through the command line."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from click.testing import CliRunner
from tests.planned_examples import copied_with_plan

from lugwright.cli.app import app
from lugwright.layout import remedies
from lugwright.layout.checker import check_plan
from lugwright.workflow import Opened, open_build

EXAMPLE = Path(__file__).parents[2] / "examples" / "dunlin_5.toml"


@pytest.fixture(scope="module")
def build_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a copy of an example with its plan beside it."""
    return copied_with_plan(EXAMPLE, tmp_path_factory.mktemp("explained"))


@pytest.fixture(scope="module")
def opened(build_file: Path) -> Opened:
    return open_build(build_file)


def told(build_file: Path, *options: str) -> dict[str, object]:
    result = CliRunner().invoke(app, ["plan", str(build_file), "--json", *options], catch_exceptions=False)
    assert result.exit_code == 0, result.output
    answer = json.loads(result.stdout)
    assert isinstance(answer, dict)
    return answer


def test_the_answers_name_only_what_the_plan_has(build_file: Path, opened: Opened):
    wires = [f"W{wire.number}" for wire in opened.plan.wires]
    subjects = [*(seat.part for seat in opened.plan.seats), *wires, *opened.build.joints, *opened.plan.terminals]
    options = [word for subject in subjects for word in ("--why", subject)]
    answers = told(build_file, *options)["why"]
    assert isinstance(answers, list)
    assert [answer["subject"] for answer in answers] == subjects
    for answer in answers:
        assert answer["here"]
        for choice in answer["choices"]:
            assert choice["place"]
            assert choice["because"]


def test_the_price_of_another_place_is_what_the_plan_costs_with_the_part_moved_there(opened: Opened):
    """The best other place of each part, tried one at a time: terms add up to what is said."""
    for seat in opened.plan.seats[::4]:
        for choice in opened.why(seat.part).choices:
            if choice.more is not None and choice.because != "costs the same":
                said = sum(float(term.rpartition(" ")[2]) for term in choice.because.split(", "))
                assert choice.more == pytest.approx(said, abs=0.5 * choice.because.count(", ") + 1.0)


def test_every_rule_has_its_worst_place_and_every_term_its_reason(build_file: Path):
    answer = told(build_file)
    rows, terms, lugs = answer["worst_places"], answer["objective"], answer["lugs"]
    assert isinstance(rows, list)
    assert isinstance(terms, list)
    assert isinstance(lugs, dict)
    assert len(rows) >= 15
    assert all(row["place"] and row["found"] and row["limit"] for row in rows)
    assert sum(term["share"] for term in terms) == pytest.approx(1.0, abs=1e-9)
    assert all(term["weight"] and term["reason"] for term in terms)
    assert lugs["least"] <= lugs["used"] + 4  # free pins of its octal socket count too
    assert lugs["spare"] >= lugs["spare_wanted"]


def test_every_plan_laid_side_by_side_is_whole_and_the_chosen_one_stays(build_file: Path):
    answer = told(build_file, "--compare")
    plans = answer["plans"]
    assert isinstance(plans, list)
    assert [plan["name"] for plan in plans] == ["stored", "shortest", "tidiest", "fewest"]
    by_name = {plan["name"]: plan for plan in plans}
    assert by_name["fewest"]["lugs_used"] <= by_name["stored"]["lugs_used"]
    told(build_file, "--choose", "shortest")
    chosen = build_file.with_suffix(".plan.json").read_bytes()
    told(build_file)
    assert build_file.with_suffix(".plan.json").read_bytes() == chosen
    again = open_build(build_file)
    assert check_plan(again.build, again.plan, joint_volts=again.joint_volts, hardware=again.hardware) == []
    lugs = sum(1 for t in again.plan.terminals.values() if t.kind == "lug") - len(again.plan.spare_lugs)
    assert lugs == by_name["shortest"]["lugs_used"]


def test_a_new_dislike_counts_when_the_plan_is_made_afresh(build_file: Path):
    told(build_file)
    file = build_file.with_suffix(".plan.json")
    stored = json.loads(file.read_text(encoding="utf-8"))
    with build_file.open("a", encoding="utf-8") as text:
        text.write("\n[plan.dislike]\nlayers = 8.0\n")
    told(build_file)
    kept = json.loads(file.read_text(encoding="utf-8"))
    assert kept["seats"] == stored["seats"]
    told(build_file, "--afresh")
    anew = json.loads(file.read_text(encoding="utf-8"))
    assert sum(seat["layer"] > 1 for seat in anew["seats"]) < sum(seat["layer"] > 1 for seat in stored["seats"])


def test_what_is_proposed_for_an_impossible_build_makes_it_possible(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    """Three strips are taken away; the first change that the refusal proposes is written down, and planned."""
    monkeypatch.setattr(remedies, "MOST_S", 600.0)  # on a busy machine the tries are the same
    text = re.sub(r"^[BDE] = \{ lugs = .*\n", "", EXAMPLE.read_text(encoding="utf-8"), flags=re.MULTILINE)
    path = tmp_path / "too_few.toml"
    path.write_text(text, encoding="utf-8")
    refused = CliRunner().invoke(app, ["plan", str(path)])
    assert refused.exit_code == 3
    assert re.search(r"wanted: about \d+ more lugs? at strip [AC]", refused.stderr)
    assert re.search(r"planned to be sure: .* \(\d+ changes tried\)", refused.stderr)
    changes = re.findall(r"strip ([AC]): lugs = (\d+) in place of (\d+)", refused.stderr.partition("; or ")[0])
    assert changes
    for name, lugs, before in changes:
        text = text.replace(f"{name} = {{ lugs = {before},", f"{name} = {{ lugs = {lugs},")
    path.write_text(text, encoding="utf-8")
    planned = CliRunner().invoke(app, ["plan", str(path)])
    assert planned.exit_code == 0, planned.output
