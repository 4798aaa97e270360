"""Tables line up; color only where it may be; progress only when it takes long."""

from __future__ import annotations

import io
import time
from pathlib import Path

import click
import pytest
from click.testing import CliRunner

from lugwright.cli.printing import at_work, paint, print_findings, say, table
from lugwright.cli.session import build_file
from lugwright.findings import Finding, Grade, Place


class Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


def test_columns_line_up_and_numbers_stand_flush_right() -> None:
    assert table(("joint", "DC"), [("B+1", "412 V"), ("cathode", "1.5 V")], right="lr").splitlines() == [
        "joint       DC",
        "-------  -----",
        "B+1      412 V",
        "cathode  1.5 V",
    ]


def test_color_only_on_a_terminal_and_not_against_no_color(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("NO_COLOR", raising=False)
    assert paint("fault", "red", io.StringIO()) == "fault"
    assert paint("fault", "red", Terminal()) == "\x1b[31m\x1b[1mfault\x1b[0m"
    monkeypatch.setenv("NO_COLOR", "1")
    assert paint("fault", "red", Terminal()) == "fault"


def test_findings_are_printed_to_stderr_worst_first(capsys: pytest.CaptureFixture[str]) -> None:
    note = Finding("a-note", Grade.NOTE, "n", "f", "w", "d", place=Place("amp.toml", 1, 1))
    danger = Finding("a-danger", Grade.DANGER, "no earth bond", "f", "w", "d", place=Place("amp.toml", 9, 2))
    print_findings([note, danger])
    out, err = capsys.readouterr()
    assert out == ""
    assert err.splitlines() == [
        "amp.toml:9:2: danger: no earth bond [a-danger]", "  found:  f", "  wanted: w", "  do:     d",
        "amp.toml:1:1: note: n [a-note]", "  found:  f", "  wanted: w", "  do:     d",
    ]  # fmt: skip


def test_commands_in_what_is_said_name_the_file_that_was_typed() -> None:
    @click.command()
    @build_file
    def command(build_file: Path) -> None:
        say('read it again: lugwright read FILE --step "all tubes"; METER.csv stays')
        say("error: lugwright trace FILE", err=True)

    for typed, named in (("amp.toml", "amp.toml"), ("my amps/one.toml", "'my amps/one.toml'")):
        result = CliRunner().invoke(command, [typed])
        assert result.stdout == f'read it again: lugwright read {named} --step "all tubes"; METER.csv stays\n'
        assert result.stderr == f"error: lugwright trace {named}\n"


def test_outside_of_a_command_the_file_stays_a_file(capsys: pytest.CaptureFixture[str]) -> None:
    say("lugwright trace FILE")
    assert capsys.readouterr().out == "lugwright trace FILE\n"


def test_quick_work_says_nothing(capsys: pytest.CaptureFixture[str]) -> None:
    with at_work("computing"):
        pass
    time.sleep(0.05)
    assert capsys.readouterr().err == ""


def test_slow_work_says_what_it_is_doing(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("lugwright.cli.printing.SLOW_S", 0.02)
    with at_work("computing the idle") as progress:
        time.sleep(0.06)
        progress("drawing")
    assert capsys.readouterr().err == "computing the idle ...\ndrawing ...\n"
