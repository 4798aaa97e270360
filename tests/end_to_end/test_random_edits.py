"""Random edits to a sound build file: always an answer, always soon, always with a place in the file."""

from __future__ import annotations

import time
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from lugwright.buildfile.read import MAX_BYTES, ReadResult, read_build, read_text
from lugwright.findings import Grade

EXAMPLES = Path(__file__).parents[2] / "examples"
DUNLIN = (EXAMPLES / "dunlin_5.toml").read_text(encoding="utf-8")
LINES = DUNLIN.splitlines()
MARKS = ["", "{", "}", "[", "]", '"', '"""', "'", "=", ",", ".", "#", "\\", "\n", "\x00", "é", "\U0001f600", "nan",
         "-inf", "1e400", "0x" + "f" * 200, "9" * 5000, '"\\U0001F600" = 1', "true", "B+1", "ground", "V1a.plate",
         "chassis", "1979-05-27"]  # fmt: skip
quiet = settings(max_examples=120, derandomize=True, deadline=None, suppress_health_check=[HealthCheck.too_slow])


def answer(text: str) -> ReadResult:
    """Return what a text reads as; it must be an answer a builder can use, within two seconds."""
    started = time.monotonic()
    result = read_text(text, "amp.toml")
    assert time.monotonic() - started < 2.0
    lines = text.count("\n") + 1
    for finding in result.findings:
        assert finding.place is not None
        assert 1 <= finding.place.line <= lines + 1
        assert finding.what
        assert finding.found
        assert finding.wanted
        assert finding.do
        str(finding).encode("utf-8")
    if result.build is None:
        assert any(f.grade in (Grade.FAULT, Grade.DANGER) for f in result.findings)
    return result


@quiet
@given(st.lists(st.tuples(st.sampled_from(["delete", "double", "swap"]), st.integers(0, len(LINES) - 1)), max_size=6))
def test_lines_deleted_doubled_or_swapped(edits: list[tuple[str, int]]) -> None:
    lines = list(LINES)
    for what, at in edits:
        at %= len(lines)
        if what == "delete":
            del lines[at]
        elif what == "double":
            lines.insert(at, lines[at])
        else:
            lines[at], lines[-1 - at] = lines[-1 - at], lines[at]
    answer("\n".join(lines))


@quiet
@given(
    st.lists(
        st.tuples(st.integers(0, len(DUNLIN)), st.integers(0, 12), st.sampled_from(MARKS) | st.text(max_size=5)),
        min_size=1,
        max_size=5,
    )
)
def test_pieces_of_text_put_in_place_of_others(edits: list[tuple[int, int, str]]) -> None:
    text = DUNLIN
    for at, length, piece in edits:
        text = text[:at] + piece + text[at + length :]
    answer(text)


@quiet
@given(st.integers(0, len(LINES) - 1), st.integers(0, len(LINES) - 1), st.sampled_from(MARKS))
def test_a_value_put_in_place_of_another(at: int, source: int, piece: str) -> None:
    lines = list(LINES)
    head = lines[at].partition("=")[0]
    lines[at] = f"{head}= {lines[source].partition('=')[2] or piece}"
    answer("\n".join(lines))


@quiet
@given(st.binary(max_size=300), st.integers(0, 5000))
def test_bytes_in_the_file(tmp_path_factory: pytest.TempPathFactory, piece: bytes, at: int) -> None:
    path = tmp_path_factory.mktemp("bytes") / "amp.toml"
    raw = DUNLIN.encode("utf-8")
    path.write_bytes(raw[:at] + piece + raw[at:])
    read_build(path)


TRIPLE, STAGE = '"' * 3, "[stage.many]\n"
HEAVY = {
    "escaped quotes in an open text": 'a = "' + '\\"' * 499_000,
    "triple quotes behind backslashes": ("\\" + TRIPLE + "\n") * 200_000,
    "open triple quotes": (TRIPLE + "\\") * 250_000,
    "quotes": '"' * 999_999,
    "brackets": "a = [" + "[]," * 300_000 + "]",
    "a key of many parts": "a" + " . a" * 240_000,
    "arrays of tables": "[[a.b]]\n" * 120_000,
    "tables": "\n".join(f"[a.b.c.d.e.f{n}]" for n in range(50_000)),
    "unknown keys": f"{DUNLIN}\n{STAGE}" + "\n".join(f"cathode_res{n} = 1" for n in range(35_000)),
    "places": DUNLIN.replace("[place]", "[place]\n" + "\n".join(f"R{n} = 1" for n in range(10_000, 45_000))),
    "stages": DUNLIN + "\n".join(f'\n[stage.s{n}]\nuse = "long-tailed pair"' for n in range(280)),
    "misspelt terminals": f"{DUNLIN}\n{STAGE}"
    + "\n".join(f'W{n} = {{ purpose = "x", ends = ["V1a.plat{n}", "W{n + 1}.2"] }}' for n in range(1000, 4000)),
}


@pytest.mark.parametrize("name", HEAVY)
def test_a_heavy_file_is_answered_soon(name: str) -> None:
    text = HEAVY[name]
    assert len(text) <= MAX_BYTES
    assert answer(text).build is None
