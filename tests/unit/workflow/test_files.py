"""Files are written whole; what is no file is written to, never replaced."""

from __future__ import annotations

import os
import stat
from pathlib import Path

from lugwright.workflow.files import write_whole


def test_a_device_is_written_to_and_stays_a_device() -> None:
    ours, theirs = os.openpty()
    device = Path(os.ttyname(theirs))
    write_whole(device, b"lug")
    assert os.read(ours, 3) == b"lug"
    assert stat.S_ISCHR(device.stat().st_mode)
    os.close(ours)
    os.close(theirs)


def test_a_file_is_replaced_whole_and_nothing_is_left_beside_it(tmp_path: Path) -> None:
    (tmp_path / "a.txt").write_text("before, and longer")
    write_whole(tmp_path / "a.txt", b"after")
    assert [(p.name, p.read_text()) for p in tmp_path.iterdir()] == [("a.txt", "after")]
