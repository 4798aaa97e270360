"""Every example build through the command line: clean findings, a valid plan, a whole book."""

from __future__ import annotations

import csv
import json
import re
import shutil
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result
from pypdf import PdfReader
from pypdf.generic import Destination
from tests.planned_examples import copied_with_plan, planned

from lugwright.cli.app import app
from lugwright.documents.drawings.labels import label_overlaps
from lugwright.documents.drawings.wiring_side import wiring_side
from lugwright.findings import Grade
from lugwright.kept_answers import CHOICE
from lugwright.workflow import Opened, open_build

EXAMPLES = sorted((Path(__file__).parents[2] / "examples").glob("*.toml"))
BAD = (Grade.DANGER, Grade.FAULT)


@pytest.fixture(params=EXAMPLES, ids=lambda p: p.stem)
def build_file(request: pytest.FixtureRequest, tmp_path: Path) -> Path:
    """Return a copy of an example where files may be written beside it."""
    return Path(shutil.copy(request.param, tmp_path))


def _run(*arguments: str) -> Result:
    return CliRunner().invoke(app, list(arguments), catch_exceptions=False)


def _rows(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


CHAPTERS = (
    "Job cards",
    "Ohms chart",
    "Power-up charts",
    "Idle setting",
    "Response, feedback and hiss",
    "Output power",
    "Wire list",
    "Cut list",
)


def _facts_of_the_pdf(opened: Opened, out: Path) -> None:
    reader = PdfReader(next(out.glob("*.pdf")))
    assert opened.build.title in reader.pages[0].extract_text()
    entries = [entry for entry in _flat(reader.outline) if entry.title.startswith(CHAPTERS)]
    assert {next(c for c in CHAPTERS if entry.title.startswith(c)) for entry in entries} == set(CHAPTERS)
    for entry in entries:
        number = reader.get_destination_page_number(entry)
        assert number is not None
        assert entry.title in " ".join(reader.pages[number].extract_text().split())
    assert reader.trailer["/Root"]["/ViewerPreferences"]["/PrintScaling"] == "/None"


def _grade(told: str) -> Grade:
    """Return the grade of a finding as it is printed, with or without its place in the build file."""
    found = re.match(r"(?:\S+:\d+:\d+: )?(\w+): ", told)
    assert found, told
    return Grade(found[1])


def _flat(outline: Iterable[Any]) -> Iterator[Destination]:
    for entry in outline:
        if isinstance(entry, list):
            yield from _flat(entry)
        else:
            yield entry


def test_the_book_of_every_example_is_whole(build_file: Path) -> None:
    out = build_file.parent / "book"
    shutil.copy(planned(build_file).with_suffix(".plan.json"), build_file.parent)
    result = _run("book", str(build_file), "--out", str(out))
    assert result.exit_code == 0, result.output
    opened = open_build(build_file)
    grades = [_grade(told) for told in json.loads((out / "findings.json").read_text(encoding="utf-8"))]
    assert grades
    assert not set(grades) & set(BAD)
    _facts_of_the_pdf(opened, out)
    html = next(out.glob("*.html")).read_text(encoding="utf-8")
    assert "<script" not in html
    assert "dB below" in html  # hiss against full power
    assert len(_rows(out / "tables" / "wires.csv")) == len(opened.plan.wires)
    assert len(list((out / "drawings").glob("strip_*.svg"))) == len(opened.build.strips)
    assert len(list((out / "drawings").glob("*.dxf"))) >= 1
    layers = sorted((out / "drawings").glob("layer_*.svg"))
    assert [path.stem for path in layers[:2]] == ["layer_1_under_the_parts", "layer_2_parts"]
    worked = sorted((out / "drawings").glob("work_*.svg"))
    assert len(worked) == len({job.phase for job in opened.work_order.jobs if job.leads})
    assert all(f'data-wire="W{wire.number}"' in worked[-1].read_text(encoding="utf-8") for wire in opened.plan.wires)


def test_a_book_from_kept_answers_is_the_book_that_was_computed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    build_file = copied_with_plan(EXAMPLES[1], tmp_path)
    monkeypatch.setenv(CHOICE, str(tmp_path / "kept"))
    books = []
    for name in ("computed", "recalled"):
        assert _run("book", str(build_file), "--out", str(tmp_path / name)).exit_code == 0
        files = [path for path in sorted((tmp_path / name).rglob("*")) if path.is_file()]
        books.append({path.relative_to(tmp_path / name): path.read_bytes() for path in files})
    assert len(list((tmp_path / "kept").glob("*/*.answer"))) > 10
    assert books[0] == books[1]


def test_a_plan_is_stable_and_nothing_in_it_overlaps(build_file: Path) -> None:
    stored = Path(shutil.copy(planned(build_file).with_suffix(".plan.json"), build_file.parent))
    first = stored.read_bytes()
    again = _run("plan", str(build_file))
    assert again.exit_code == 0, again.output
    assert stored.read_bytes() == first
    opened = open_build(build_file)
    assert not [f for f in opened.plan_findings if f.grade in BAD]
    side = wiring_side(opened.build, opened.plan, opened.hardware)
    assert label_overlaps(side.labelled) == []


def test_the_idle_as_json_is_certified_and_balanced(build_file: Path) -> None:
    result = _run("idle", str(build_file), "--json")
    assert result.exit_code == 0, result.output
    idle = json.loads(result.stdout)["idle"]
    certificate = idle["certificate"]
    assert certificate["passed"] is True
    assert certificate["power_in_w"] == pytest.approx(certificate["power_out_w"], rel=1e-6)
    assert idle["joints"]["ground"]["volts"] == 0.0
    assert 200 < idle["joints"]["B+1"]["volts"] < 500


def test_the_response_as_json_amplifies_and_comes_to_rest(build_file: Path) -> None:
    result = _run("response", str(build_file), "--json")
    assert result.exit_code == 0, result.output
    response = json.loads(result.stdout)["response"]
    assert response["curves"][0]["gain_1khz_db"] > 25.0
    assert response["hiss"]["volts"] < 0.02
    assert sum(source["share"] for source in response["hiss"]["sources"]) == pytest.approx(1.0)
    growing = [pole for pole in response["poles"]["poles"] if pole["growth_per_s"] > 0.0]
    assert all(3.0 < turned["pole"]["hertz"] < 12.0 for turned in response["turned"])  # a tremolo, or none
    tremolo = build_file.stem == "curlew_18"  # the only one that is to swing
    assert len(growing) == (1 if tremolo else 0)
    assert all(3.0 < pole["hertz"] < 12.0 for pole in growing)
    if response["loop"] is not None:
        assert not response["loop"]["positive"]
        assert all(margin["phase_deg"] is None or margin["phase_deg"] > 30.0 for margin in response["loop"]["margins"])


def test_the_power_as_json_is_what_the_name_promises(build_file: Path) -> None:
    result = _run("power", str(build_file), "--json")
    assert result.exit_code == 0, result.output
    power = json.loads(result.stdout)["power"]
    assert power["stopped_at"] == ""
    assert all(point["certificate"]["passed"] for point in power["points"])
    least, most = {"dunlin_5": (3, 6), "curlew_18": (10, 20), "godwit_40": (34, 60), "redshank_50": (35, 65)}[
        build_file.stem
    ]
    assert least < power["ten_percent"]["watts"] < power["full_drive"]["watts"] < most
    assert 0.01 < power["ten_percent"]["drive_rms_v"] < 0.5
    sag_v = power["idle_b_plus_v"]["B+1"] - power["full_drive"]["b_plus_v"]["B+1"]
    single_ended = build_file.stem == "dunlin_5"  # its mean current hardly moves, and falls when it clips
    assert abs(sag_v) < 2.0 if single_ended else sag_v > 5.0
