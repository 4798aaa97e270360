"""Tests of single modules, ``*.test.mjs``, run by Node's own test runner; each file has to run a test."""

from __future__ import annotations

import re
import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest

from ..node import NODE


class ModuleTestFailed(Exception):
    """What Node printed."""


class ModuleTest(pytest.Item):
    """One file of tests, in a Node of its own."""

    def runtest(self) -> None:
        """Run the file; fail when a test fails, is skipped, or there is none."""
        done = subprocess.run(
            [NODE, "--test-reporter=tap", self.path], capture_output=True, text=True, check=False, timeout=60
        )
        counts = {name: int(count) for name, count in re.findall(r"^# (\w+) (\d+)$", done.stdout, re.MULTILINE)}
        passed = counts.get("pass", 0)
        if done.returncode or not passed or passed != counts["tests"]:
            raise ModuleTestFailed(f"{done.stdout}{done.stderr}")

    def repr_failure(self, excinfo: pytest.ExceptionInfo[BaseException], style: str | None = None) -> str:
        """Return what Node printed, without a traceback through this file."""
        return str(excinfo.value)

    def reportinfo(self) -> tuple[Path, None, str]:
        """Return the file and the name it is reported under."""
        return self.path, None, self.path.name


class ModuleTests(pytest.File):
    """A file ``*.test.mjs``."""

    def collect(self) -> Iterator[ModuleTest]:
        """Return the file as one test."""
        yield ModuleTest.from_parent(self, name="node")


def pytest_collect_file(file_path: Path, parent: pytest.Collector) -> ModuleTests | None:
    """Take the tests of modules along with those in Python."""
    return ModuleTests.from_parent(parent, path=file_path) if file_path.name.endswith(".test.mjs") else None
