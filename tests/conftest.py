"""Every run the same: seeded random input, and one thread for linear algebra, as on the command line.

The folder of a test sets its mark: ``pytest -m "not browser"`` leaves tests/browser out.
"""

import os
import shutil
import tempfile
from pathlib import Path

import pytest
from hypothesis import settings
from tests.planned_examples import OF_THIS_RUN

from lugwright import kept_answers

OF_ONE_RUN = (OF_THIS_RUN, kept_answers.CHOICE)
FOLDERS = ("unit", "against", "end_to_end", "browser")

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
settings.register_profile("repeatable", derandomize=True, deadline=None)
settings.load_profile("repeatable")


def pytest_configure(config: pytest.Config) -> None:
    """Make a mark of every folder, and two folders where all processes of this run find the examples planned and
    what was computed of them: nothing is left over from another run.
    """
    if not hasattr(config, "workerinput"):  # the first process; the others are told by it
        for folder in OF_ONE_RUN:
            os.environ[folder] = tempfile.mkdtemp(prefix="of_one_run")
    for folder in FOLDERS:
        config.addinivalue_line("markers", f"{folder}: the tests in tests/{folder}")


def pytest_unconfigure(config: pytest.Config) -> None:
    """Take those folders away."""
    if not hasattr(config, "workerinput"):
        for folder in OF_ONE_RUN:
            shutil.rmtree(os.environ[folder])


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Mark every test with its folder; those in the browser come last.

    What drives the browser keeps an event loop running in its thread, where ``asyncio.run`` then refuses to start.
    """
    for item in items:
        for folder in FOLDERS:
            if item.path.is_relative_to(Path(__file__).parent / folder):
                item.add_marker(folder)
    items.sort(key=lambda item: item.get_closest_marker("browser") is not None)
