"""The table of commands: help without heavy imports, every command loadable, errors in four lines."""

from __future__ import annotations

import json
import resource
import subprocess
import sys

import pytest
from click.testing import CliRunner

from lugwright.cli import exits
from lugwright.cli.app import COMMANDS, app
from lugwright.errors import (
    CatalogueError,
    CircuitError,
    DocumentError,
    FileAccessError,
    LugwrightError,
    NoIdlePoint,
    NoSuchPoint,
    PlanError,
)  # fmt: skip


def test_help_lists_every_command_in_working_order() -> None:
    result = CliRunner().invoke(app, ["--help"])
    assert result.exit_code == 0
    lines = result.output.splitlines()
    start = lines.index("Commands:") + 1
    assert [line.split()[0] for line in lines[start : start + len(COMMANDS)]] == list(COMMANDS)
    assert "0 fine, 1 a finding of grade fault or danger" in " ".join(result.output.split())


def test_help_costs_less_than_150_ms_of_cpu_and_imports_no_heavy_library() -> None:
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    code = (
        "import sys\nfrom lugwright.cli.app import app\napp(['--help'], standalone_mode=False)\n"
        "heavy = {'numpy', 'pydantic', 'tomlkit', 'typst', 'ezdxf', 'jinja2', 'pypdf', 'starlette', 'uvicorn'}\n"
        "heavy &= set(sys.modules)\n"
        "sys.exit(f'imported {heavy}' if heavy else 0)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    assert done.returncode == 0, done.stderr
    assert after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime < 0.150


SERVES = "bench"  # pages, no report


@pytest.mark.parametrize("name", [name for name in COMMANDS if name != SERVES])
def test_every_command_has_help_and_takes_json(name: str) -> None:
    result = CliRunner().invoke(app, [name, "--help"])
    assert result.exit_code == 0
    assert "--json" in result.output


def test_a_misspelled_command_gets_the_nearest_name() -> None:
    result = CliRunner().invoke(app, ["ilde", "amp.toml"])
    assert result.exit_code == exits.UNREADABLE
    assert "there is no command 'ilde'; the nearest is 'idle'" in result.output


@pytest.mark.parametrize("name", [name for name in COMMANDS if name not in ("schema", SERVES)])
def test_every_json_report_has_a_schema(name: str) -> None:
    result = CliRunner().invoke(app, ["schema", "--of", name])
    assert result.exit_code == 0, result.output
    schema = json.loads(result.output)
    top = schema["$defs"][schema["title"]]
    assert {"type" if name == "fit" else "build", "findings"} <= set(top["required"])  # fit has no build


@pytest.mark.parametrize(
    ("kind", "code"),
    [
        (NoIdlePoint, 3), (CircuitError, 3), (PlanError, 3), (DocumentError, 4), (exits.NotWritten, 4),
        (CatalogueError, 2), (FileAccessError, 2), (NoSuchPoint, 2),
    ],
)  # fmt: skip
def test_each_error_has_its_exit_code(kind: type[LugwrightError], code: int) -> None:
    assert exits.code_of(kind(what="a", found="b", wanted="c", do="d")) == code


@pytest.mark.parametrize(
    ("line", "words"),
    [
        (("power", "amp.toml", "--hertz", "nan"), "Invalid value for '--hertz': 'nan' is not a number"),
        (("response", "amp.toml", "--watts", "inf"), "Invalid value for '--watts': 'inf' is not a number"),
        (("start", "amp.toml", "--standby", "NaN"), "Invalid value for '--standby': 'NaN' is not a number"),
    ],
)
def test_what_is_no_number_is_refused_on_the_command_line(line: tuple[str, ...], words: str) -> None:
    result = CliRunner().invoke(app, list(line))
    assert result.exit_code == 2
    assert words in result.output
