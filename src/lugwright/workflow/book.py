"""The build book and everything beside it, written into a folder."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import nullcontext
from pathlib import Path

from lugwright.errors import ChangeError
from lugwright.kept_answers import is_recalled
from lugwright.layout.plan_file import plan_to_text
from lugwright.second_process import answers_beside
from lugwright.workflow.files import make_folder, write_whole
from lugwright.workflow.opened import Opened
from lugwright.workflow.planning import planning_words

# What the book needs that no drawing of the metal waits for, the longest to compute first.
CHARTS = (
    "steps", "power_answer", "spread", "mains_swing", "started", "response", "idle_setting", "ohms_chart",
)  # fmt: skip
Progress = Callable[[str], None]


def write_plan(opened: Opened) -> Path:
    """Write the plan beside the build file and return where.

    Raises
    ------
    FileAccessError
        It cannot be written; what was there before is untouched.
    ChangeError
        The build is a what-if.
    """
    _refuse_what_if(opened)
    content = plan_to_text(opened.plan).encode()
    if (
        not opened.plan_path.exists() or opened.plan_path.read_bytes() != content
    ):  # who watches it is not called for nothing
        write_whole(opened.plan_path, content)
    return opened.plan_path


def _refuse_what_if(opened: Opened) -> None:
    if opened.changes:
        raise ChangeError(
            what=f"a what-if is not written to {opened.plan_path.name}",
            found=", ".join(f"{c.part}={c.now}" for c in opened.changes),
            wanted="the build as its file says",
            do="make the change in the build file",
        )


def write_book(opened: Opened, out: Path, *, paper: str = "A4", progress: Progress = lambda _: None) -> list[Path]:
    """Write the book and everything beside it into a folder; return the files written.

    Raises
    ------
    FileAccessError
        A file cannot be written; a file that was there before is whole, old or new.
    """
    written = []
    _refuse_what_if(opened)
    make_folder(out)
    _ = opened.idle  # the second process begins with it
    charts = [name for name in CHARTS if not is_recalled(opened.computed, name)]
    with answers_beside(opened.computed, charts) if charts else nullcontext() as beside:
        progress(planning_words())
        write_plan(opened)
        from lugwright.workflow.book_files import book_files  # the second process need not wait for the drawings

        for name, content in book_files(opened, paper, progress, beside):
            path = out / name
            write_whole(path, content)
            written.append(path)
    return written
