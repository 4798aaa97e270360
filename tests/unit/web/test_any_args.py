"""Whatever comes with a question or a deed: an answer or four lines, and nothing written but the build's files."""

from __future__ import annotations

import hashlib
import io
import json
import os
import time
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, Phase, given, seed, settings
from hypothesis import strategies as st

from lugwright.log.store import Log
from lugwright.web.asked.asked import LONG
from lugwright.web.asked.table import ASKED
from lugwright.web.frames import read_frame
from lugwright.web.worker import Worker

from .odd_args import args_for

EXAMPLES = 20  # of each thing that can be asked
WITHIN_S = 3.0  # no new example of one thing after that, once there was one
OWN = {"", ".plan.json", ".log.sqlite", ".log.sqlite-wal", ".log.sqlite-shm", ".log.sqlite-journal"}


@pytest.fixture(scope="module")
def home(tmp_path_factory: pytest.TempPathFactory, planned_dunlin: Path) -> Path:
    """Return a folder with nothing in it but a folder with a planned build."""
    home = tmp_path_factory.mktemp("home")
    (home / "builds").mkdir()
    for each in (planned_dunlin, planned_dunlin.with_suffix(".plan.json")):
        (home / "builds" / each.name).write_bytes(each.read_bytes())
    return home


def _tree(home: Path) -> dict[str, str]:
    return {
        path.relative_to(home).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest() if path.is_file() else ""
        for path in home.rglob("*")
    }


@pytest.mark.parametrize("name", sorted(ASKED))
def test_whatever_comes_with_it_is_answered_and_nothing_else_is_written(
    name: str, home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(home)
    monkeypatch.setenv("TMPDIR", str(home))
    path = home / "builds" / "dunlin_5.toml"
    asked, before = ASKED[name], _tree(home)
    answers = io.BytesIO()
    worker = Worker(answers)
    said: list[dict[str, Any]] = []
    begun: list[float] = []

    @seed(20261126)
    @settings(max_examples=EXAMPLES, deadline=None, database=None, phases=[Phase.generate],
              suppress_health_check=list(HealthCheck))  # fmt: skip
    @given(args_for(asked.args), st.sampled_from(["", "1", "../x", "\0", "Ω" * 60]), st.integers(0, 2**128 - 1))
    def ask(args: Any, copy: str, command: int) -> None:
        begun.append(time.monotonic())
        late = bool(said) and begun[-1] - begun[0] > WITHIN_S
        if late or (asked.lane == LONG and _fits(asked.args, args)):
            return  # what takes its time is asked in tests of its own
        answers.seek(0)
        answers.truncate()
        worker.answer({
            "number": 1, "what": name, "path": str(path), "copy": copy, "args": args,
            "command": f"{command:032x}" if asked.writes else "", "private": str(home / "builds" / "private"),
        })  # fmt: skip
        answers.seek(0)
        said.append(_last(answers))
        _is_plain(said[-1], args, home)

    ask()
    assert said
    changed = {key for key, mark in _tree(home).items() if before.get(key) != mark}
    assert changed <= {f"builds/dunlin_5{end}" for end in OWN if end}, changed
    assert all((home / key).exists() for key in before if not key.endswith(("-wal", "-shm")))
    if not asked.writes:
        assert {key for key in changed if not key.endswith(("-wal", "-shm"))} == set()
    Log(path.with_suffix(".log.sqlite")).entries()


def _fits(model: Any, args: Any) -> bool:
    try:
        model.model_validate(args)
    except ValueError:
        return False
    return True


def _last(answers: io.BytesIO) -> dict[str, Any]:
    found: dict[str, Any] = {}
    while answers.tell() < answers.getbuffer().nbytes:
        found = read_frame(answers)
    return found


def _is_plain(said: dict[str, Any], args: Any, home: Path) -> None:
    """Check that it is an answer, or an error in its four lines that tells nothing of the machine."""
    assert said["number"] == 1
    assert ("answer" in said) != ("error" in said), said
    if "error" in said:
        assert set(said["error"]) == {"what", "found", "wanted", "do"}, said
        assert all(isinstance(line, str) for line in said["error"].values())
        assert "a defect of this program" not in said["error"]["what"], (said, args)
    text = json.dumps(said, ensure_ascii=False)
    assert "Traceback" not in text
    assert f"{home}{os.sep}builds{os.sep}dunlin" not in text, said
