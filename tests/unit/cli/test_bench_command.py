"""`lugwright bench`: what it says when it starts, when it cannot, and to whom it is open."""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from click.testing import CliRunner, Result

from lugwright.cli.app import app
from lugwright.web import serve


def run(*arguments: str) -> Result:
    """Run the command."""
    return CliRunner().invoke(app, ["bench", *arguments])


@pytest.fixture
def started(monkeypatch: pytest.MonkeyPatch) -> dict[str, Any]:
    """Return what the server was started with; it ends at once."""
    found: dict[str, Any] = {}

    def stand_in(paths: Any, *, ready: Any, tell: Any, **named: Any) -> None:
        found.update(named, paths=paths)
        there = f"http://{named['host']}:8463/" if named["host"] else ""
        pairing = SimpleNamespace(code="01234567") if there else None
        ready(SimpleNamespace(address="http://127.0.0.1:8463/", device_address=there, pairing=pairing))
        tell("device 1 is paired, at 192.168.1.9")

    monkeypatch.setattr(serve, "serve", stand_in)
    return found


def test_by_itself_it_is_open_to_this_machine_alone(started: dict[str, Any]) -> None:
    done = run("amp.toml", "--port", "9000")
    assert started == {"port": 9000, "host": "", "paths": (Path("amp.toml"),)}
    assert done.output.splitlines()[0] == "the bench is at http://127.0.0.1:8463/ (Ctrl-C stops it)"
    assert "tablet" not in done.output


def test_with_tablets_it_says_where_with_which_code_and_what_that_means(started: dict[str, Any]) -> None:
    done = run("--tablet", "--host", "192.168.1.20")
    assert (started["host"], started["paths"]) == ("192.168.1.20", (Path(),))
    assert done.output == (
        "the bench is at http://127.0.0.1:8463/ (Ctrl-C stops it)\n"
        "for a tablet or phone: http://192.168.1.20:8463/\n"
        "  code: 0123 4567 (for one device; for another: http://127.0.0.1:8463/devices)\n"
        "caution: nothing of this is encrypted. Whoever is on the same network can overhear it, and then read and\n"
        "  write as that device does. Use a network of your own.\n"
        "device 1 is paired, at 192.168.1.9\n"
    )


def test_a_host_without_tablets_is_refused(started: dict[str, Any]) -> None:
    done = run("--host", "192.168.1.20")
    assert (done.exit_code, started) == (2, {})
    assert done.output == (
        "error: --host is for tablets and phones only\n  found:  --host 192.168.1.20 without --tablet\n"
        "  wanted: --tablet, so that it is plain that others on the network can reach the bench\n"
        "  do:     lugwright bench --tablet --host 192.168.1.20\n"
    )


def test_an_address_that_cannot_be_meant_ends_before_anything_is_served(started: dict[str, Any]) -> None:
    done = run("--tablet", "--host", "0.0.0.0")
    assert (done.exit_code, started) == (2, {})
    assert done.output.startswith("error: --host 0.0.0.0 cannot be used\n  found:  this means every address")


def test_a_folder_without_builds_is_refused(tmp_path: Path) -> None:
    done = run(str(tmp_path))
    assert done.exit_code == 2
    assert done.output == (
        "error: there is nothing to put on the bench\n  found:  0 build files\n"
        "  wanted: 1 to 200 build files (.toml), or folders with such files in them\n"
        "  do:     lugwright bench amp.toml\n"
    )
