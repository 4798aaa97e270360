"""Malformed build files, each with the exact words it must be answered with."""

from __future__ import annotations

import time
from pathlib import Path

import pytest

from lugwright.buildfile.read import MAX_BYTES, read_build, read_text
from lugwright.errors import FileAccessError

FOLDER = Path(__file__).parent / "bad_files"
FILES = sorted(FOLDER.glob("*.toml"))


def test_there_are_enough_bad_files() -> None:
    assert len(FILES) >= 80


@pytest.mark.parametrize("path", FILES, ids=lambda p: p.stem)
def test_every_mistake_is_answered_in_these_words(path: Path) -> None:
    started = time.monotonic()
    found = "\n".join(str(finding) for finding in read_build(path).findings)
    assert time.monotonic() - started < 2.0
    assert found + "\n" == path.with_suffix(".txt").read_text(encoding="utf-8")


def test_a_file_over_the_limit_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "huge.toml"
    path.write_bytes(b"# padding\n" * (10_000_000 // 10))
    (finding,) = read_build(path).findings
    assert str(finding) == (
        "huge.toml:1:1: fault: the file is too large [too-large]\n"
        f"  found:  more than {MAX_BYTES} bytes\n"
        f"  wanted: at most {MAX_BYTES} bytes\n"
        "  do:     check that it is a build file"
    )


def test_a_missing_file_says_so(tmp_path: Path) -> None:
    with pytest.raises(FileAccessError, match="cannot be read") as caught:
        read_build(tmp_path / "nowhere.toml")
    assert caught.value.found == "No such file or directory"


def test_many_tables_and_keys_stay_fast() -> None:
    lines = [f'R{n} = {{ value = "1M", ends = ["a{n}", "a{n + 1}"] }}' for n in range(1, 3000)]
    text = 'format = 1\n[build]\ntitle = "x"\nmains = { volts = 120, hertz = 60 }\n[stage.a]\n' + "\n".join(lines)
    started = time.process_time()
    result = read_text(text)
    assert time.process_time() - started < 2.0
    assert {f.rule for f in result.findings} >= {"no-ground", "joint-used-once"}
