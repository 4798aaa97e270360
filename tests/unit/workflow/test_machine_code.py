"""The machine code of sliders: loaded where it is, made beside the work where it is not, never waited for."""

from __future__ import annotations

import subprocess
from typing import Any

import pytest

from lugwright.solve import by_machine
from lugwright.workflow import machine_code


class Maker:
    """A process that compiles, as far as a test lets it."""

    def __init__(self, command: list[str], **_: Any) -> None:
        self.command, self.code = command, None

    def poll(self) -> int | None:
        return self.code


@pytest.fixture
def around(monkeypatch: pytest.MonkeyPatch) -> dict[str, Any]:
    """Return what has been done: loaded how often, makers started; and whether the code is kept."""
    done: dict[str, Any] = {"loaded": 0, "makers": [], "kept": False}

    def started(command: list[str], **options: Any) -> Maker:
        done["makers"].append(Maker(command, **options))
        return done["makers"][-1]

    def load() -> None:
        done["loaded"] += 1

    monkeypatch.setattr(machine_code.gc, "freeze", lambda: done.update(frozen=True))
    monkeypatch.setattr(machine_code, "_MAKERS", [])
    monkeypatch.setattr(machine_code, "_REFUSALS", [])
    monkeypatch.delenv("NUMBA_DISABLE_JIT", raising=False)
    monkeypatch.setattr(machine_code, "prepared", lambda: done["kept"])
    monkeypatch.setattr(subprocess, "Popen", started)
    monkeypatch.setattr(by_machine, "load", load)
    monkeypatch.setattr(by_machine, "loaded", lambda: done["loaded"] > 0)
    return done


def test_what_has_been_compiled_is_loaded_once(around: dict[str, Any]) -> None:
    around["kept"] = True
    for _ in range(3):
        machine_code.prepare_sliders()
    assert (around["loaded"], around["makers"]) == (1, [])
    assert around["frozen"]


def test_on_a_new_machine_one_process_compiles_and_nobody_waits(around: dict[str, Any]) -> None:
    for _ in range(3):
        machine_code.prepare_sliders()
    assert around["loaded"] == 0
    (maker,) = around["makers"]
    assert maker.command[-1] == "from lugwright.workflow.machine_code import make; make()"
    maker.code = 0
    machine_code.prepare_sliders()
    assert around["loaded"] == 1


def test_where_compiling_fails_all_goes_on_without(around: dict[str, Any]) -> None:
    machine_code.prepare_sliders()
    around["makers"][0].code = 1
    for _ in range(2):
        machine_code.prepare_sliders()
    assert (around["loaded"], len(around["makers"])) == (0, 1)


def test_a_compiler_that_cannot_be_loaded_is_told_of_once_and_not_tried_again(
    around: dict[str, Any], monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    tried: list[int] = []

    def load() -> None:
        tried.append(1)
        raise ImportError("libLLVM is gone")

    around["kept"] = True
    monkeypatch.setattr(by_machine, "load", load)
    for _ in range(3):
        machine_code.prepare_sliders()
    assert len(tried) == 1
    assert caplog.messages == ["no machine code for sliders: ImportError: libLLVM is gone"]


def test_whoever_wants_plain_python_gets_no_machine_code(
    around: dict[str, Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    around["kept"] = True
    monkeypatch.setenv("NUMBA_DISABLE_JIT", "1")
    machine_code.prepare_sliders()
    assert (around["loaded"], around["makers"]) == (0, [])


def test_the_process_that_compiles_loads_what_it_makes_and_is_out_of_the_way(
    around: dict[str, Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    nice: list[int] = []
    monkeypatch.setattr(machine_code.os, "nice", nice.append, raising=False)
    monkeypatch.setattr(by_machine, "is_kept", lambda: True)
    machine_code.make()
    assert around["loaded"] == 1
    assert nice == [15]


def test_what_cannot_be_kept_is_not_compiled_again_in_front_of_a_slider(
    around: dict[str, Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(machine_code.os, "nice", lambda _: None, raising=False)
    monkeypatch.setattr(by_machine, "is_kept", lambda: False)
    with pytest.raises(SystemExit) as end:
        machine_code.make()
    assert end.value.code == 1
