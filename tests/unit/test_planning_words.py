from pathlib import Path

from lugwright.layout.kernel import kept
from lugwright.workflow import planning_words


def test_a_new_machine_is_told_that_the_planner_is_made_ready_first(monkeypatch, tmp_path):
    monkeypatch.setattr(kept, "HERE", tmp_path)
    told = "planning lugs and wires: the planner is made ready for this machine first, once, in some 20 s"
    assert planning_words() == told
    compiled = Path(kept.made_folder()) / "search"
    compiled.mkdir()
    (compiled / "entry.nbi").write_bytes(b"")
    assert planning_words() == "planning lugs and wires"


def test_what_was_compiled_of_older_sources_is_cleared_away(monkeypatch, tmp_path):
    monkeypatch.setattr(kept, "HERE", tmp_path)
    older = tmp_path / "__pycache__" / "compiled-0000"
    older.mkdir(parents=True)
    assert Path(kept.made_folder()).is_dir()
    assert not older.exists()
