"""An answer is found again for the very same question only, whole, and where nobody else may write."""

from __future__ import annotations

import os
import subprocess
import sys
from dataclasses import dataclass
from enum import Enum
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lugwright import kept_answers
from lugwright.kept_answers import CHOICE, MOST, NOTHING, KeptAnswers, is_recalled, kept_property


class Taper(Enum):
    LINEAR = "linear"
    AUDIO = "audio"


@dataclass(frozen=True)
class Pot:
    name: str
    ohm: float
    taper: Taper = Taper.LINEAR
    wired: bool = True
    note: str | None = None


class Trimmer(Pot):
    """The same in every word but what it is."""


@dataclass(frozen=True, eq=False)
class Bench:
    question: object

    @property
    def kept(self) -> KeptAnswers:
        return kept_answers.kept_answers(self.question)

    @kept_property
    def who(self) -> tuple[int, object]:
        """Return who computed it, and another object each time."""
        return os.getpid(), object


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv(CHOICE, str(tmp_path))
    return tmp_path


def keep(question: object, answer: object) -> KeptAnswers:
    kept = kept_answers.kept_answers(question)
    kept.keep("volts", answer)
    return kept_answers.kept_answers(question)


def test_what_was_kept_is_found_again() -> None:
    assert keep(Pot("R1", 1e6), {"V1": (253.5, None)}).recall("volts") == (True, {"V1": (253.5, None)})


def test_another_name_is_another_answer() -> None:
    assert keep(Pot("R1", 1e6), 1.0).recall("amps") == (False, None)


OTHERS = (
    Pot("R2", 1e6), Pot("R1", 1.0000000000000002e6), Pot("R1", 1e6, Taper.AUDIO), Pot("R1", 1e6, wired=False),
    Pot("R1", 1e6, note=""), Trimmer("R1", 1e6), (Pot("R1", 1e6),), {"R1": Pot("R1", 1e6)},
)  # fmt: skip


@pytest.mark.parametrize("other", OTHERS, ids=repr)
def test_another_question_finds_nothing(other: object) -> None:
    keep(Pot("R1", 1e6), 1.0)
    assert kept_answers.kept_answers(other).recall("volts") == (False, None)


LEAVES = st.one_of(st.none(), st.booleans(), st.integers(), st.floats(allow_nan=False), st.text())
QUESTIONS = st.recursive(
    LEAVES, lambda inner: st.one_of(st.lists(inner).map(tuple), st.dictionaries(st.text(), inner)), max_leaves=8
)


@given(QUESTIONS, QUESTIONS)
def test_two_questions_share_their_words_only_if_they_are_one(one: object, other: object) -> None:
    # True == 1 == 1.0 and 0.0 == -0.0 to Python; a file tells them apart, so the words must
    assert (list(kept_answers._words(one)) == list(kept_answers._words(other))) is (repr(one) == repr(other))


def test_a_question_of_things_that_cannot_be_told_apart_is_refused() -> None:
    with pytest.raises(TypeError, match=r"^no question is made of object$"):
        kept_answers.kept_answers((1.0, object()))


@pytest.mark.parametrize("damage", [lambda b: b[:-1], lambda b: b[:40] + b"\xff" + b[41:], lambda _: b""])
def test_a_damaged_answer_is_none(folder: Path, damage: object) -> None:
    kept = keep(Pot("R1", 1e6), [1.0] * 9)
    file = next(folder.glob("*/volts.answer"))
    file.write_bytes(damage(file.read_bytes()))  # type: ignore[operator]
    assert kept.recall("volts") == (False, None)


@pytest.mark.parametrize("name", ["..", ".", "volts.answer"])
def test_where_others_may_write_nothing_is_believed(folder: Path, name: str) -> None:
    kept = keep(Pot("R1", 1e6), 1.0)
    assert kept.folder is not None
    os.chmod(kept.folder / name, 0o777)
    assert kept.recall("volts") == (False, None)


def test_only_the_user_can_look_in() -> None:
    kept = keep(Pot("R1", 1e6), 1.0)
    assert kept.folder is not None
    assert kept.folder.stat().st_mode & 0o077 == 0


def test_none_chosen_keeps_nothing(monkeypatch: pytest.MonkeyPatch, folder: Path) -> None:
    monkeypatch.setenv(CHOICE, NOTHING)
    assert keep(Pot("R1", 1e6), 1.0).recall("volts") == (False, None)
    assert list(folder.iterdir()) == []


def test_a_folder_that_cannot_be_made_is_no_fault(monkeypatch: pytest.MonkeyPatch, folder: Path) -> None:
    (folder / "file").write_text("in the way")
    monkeypatch.setenv(CHOICE, str(folder / "file"))
    assert keep(Pot("R1", 1e6), 1.0).recall("volts") == (False, None)


def test_an_answer_that_cannot_be_written_down_is_computed_each_time() -> None:
    assert keep(Pot("R1", 1e6), lambda: 1.0).recall("volts") == (False, None)


def test_the_questions_asked_longest_ago_go_first(folder: Path) -> None:
    for k in range(MOST + 3):
        kept = keep(Pot("R1", float(k)), k)
        assert kept.folder is not None
        os.utime(kept.folder, (k, k))
    there = {k for k in range(MOST + 3) if kept_answers.kept_answers(Pot("R1", float(k))).recall("volts")[0]}
    assert there == set(range(3, MOST + 3))
    assert len(list(folder.iterdir())) == MOST


def test_another_program_finds_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    program = tmp_path / "program"
    program.mkdir()
    monkeypatch.setattr(kept_answers, "_PROGRAM", program)
    law = program / "law.py"
    try:
        for text, found in (("MU = 100", False), ("MU = 101", False), ("MU = 100", True)):
            law.write_text(text)
            kept_answers._program_mark.cache_clear()
            assert kept_answers.kept_answers(1.0).recall("volts")[0] is found
            keep(1.0, text)
    finally:
        kept_answers._program_mark.cache_clear()


def test_a_kept_property_is_computed_once_for_all_runs() -> None:
    first = Bench(1.0)
    assert not is_recalled(first, "who")
    found = first.who
    assert first.who is found
    assert is_recalled(Bench(1.0), "who")
    asked = "from test_kept_answers import Bench; print(Bench(1.0).who[0], Bench(2.0).who[0])"
    told = subprocess.run(
        [sys.executable, "-c", asked], capture_output=True, text=True, check=True,
        env={**os.environ, "PYTHONPATH": os.pathsep.join([str(Path(__file__).parent), *sys.path])},
    )  # fmt: skip
    same, other = told.stdout.split()
    assert int(same) == os.getpid()
    assert int(other) != os.getpid()


def test_a_kept_property_says_what_it_returns() -> None:
    assert Bench.who.__doc__ == "Return who computed it, and another object each time."
