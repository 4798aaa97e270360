"""What stands on the bench is what all entries, played through, have left there."""

from __future__ import annotations

from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from lugwright.log.events import JOB_CHECKED, LEAD_IN, NOTE, SOLDERED, TAKEN_OUT, Entry
from lugwright.log.exchange import from_text, to_csv
from lugwright.log.state import Bench, played, wire_key
from lugwright.log.store import Log

PARTS = [("R1", "1"), ("R1", "2"), ("C1", "1")]
TERMINALS = ["A.1", "A.2", "V1.3"]
WIRES = [("A.1", "A.2"), ("V1.3", "A.1")]


def entry(number: int, kind: str, body: dict[str, object], copy: str = "1") -> Entry:
    """Return an entry."""
    return Entry(f"{number:032x}", f"2026-11-25T12:00:{number % 60:02}.{number:06}Z", copy, kind, "", body)


def lead(part: str, name: str, terminal: str) -> tuple[str, dict[str, object]]:
    """Return that a lead is in."""
    return LEAD_IN, {"part": part, "lead": name, "terminal": terminal}


steps = st.one_of(
    st.tuples(st.sampled_from(PARTS), st.sampled_from(TERMINALS)).map(lambda x: ("in", x[0], x[1])),
    st.tuples(st.sampled_from(PARTS), st.sampled_from(TERMINALS)).map(lambda x: ("out", x[0], x[1])),
    st.sampled_from([(w, e) for w in WIRES for e in w]).map(lambda x: ("wire in", x[0], x[1])),
    st.sampled_from([(w, e) for w in WIRES for e in w]).map(lambda x: ("wire out", x[0], x[1])),
    st.sampled_from(TERMINALS).map(lambda key: ("solder", key, "")),
    st.sampled_from(TERMINALS).map(lambda key: ("open", key, "")),
    st.sampled_from(["x", "y"]).map(lambda title: ("check", title, "")),
    st.sampled_from(["x", "y"]).map(lambda title: ("uncheck", title, "")),
)  # fmt: skip


class Model:
    """The bench, kept by hand."""

    def __init__(self) -> None:
        self.leads: dict[tuple[str, str], str] = {}
        self.ends: set[tuple[tuple[str, str], str]] = set()
        self.soldered: set[str] = set()
        self.cards: set[str] = set()

    def draft(self, step: tuple) -> tuple[str, dict[str, object]]:
        """Do one step, and return how it is written down."""
        what, one, two = step
        if what == "in":
            self.leads[one] = two
            return lead(*one, two)
        if what == "out":
            self.leads.pop(one, None)
            self.soldered.discard(two)
            return TAKEN_OUT, {"undone": LEAD_IN, "part": one[0], "lead": one[1], "terminal": two}
        if what == "wire in":
            self.ends.add((wire_key(one), two))
            return LEAD_IN, {"terminal": two, "wire": {"joint": "j", "terminals": list(one), "number": 4}}
        if what == "wire out":
            self.ends.discard((wire_key(one), two))
            self.soldered.discard(two)
            return TAKEN_OUT, {"undone": LEAD_IN, "terminal": two, "wire_ends": list(one)}
        if what == "solder":
            self.soldered.add(one)
            return SOLDERED, {"terminal": one}
        if what == "open":
            self.soldered.discard(one)
            return TAKEN_OUT, {"undone": SOLDERED, "terminal": one}
        if what == "check":
            self.cards.add(one)
            return JOB_CHECKED, {"phase": "p", "title": one, "lines": ["a"]}
        self.cards.discard(one)
        return TAKEN_OUT, {"undone": JOB_CHECKED, "phase": "p", "title": one}


def same(bench: Bench, model: Model) -> bool:
    """Return whether the bench is as it was kept by hand."""
    ends = {(key, end) for key, wire in bench.wires.items() for end in wire.ends}
    return (
        {key: lead.terminal for key, lead in bench.leads.items()} == model.leads
        and ends == model.ends
        and set(bench.soldered) == model.soldered
        and {title for _, title in bench.cards} == model.cards
    )


@settings(deadline=None, derandomize=True, max_examples=150)
@given(st.lists(steps, max_size=30))
def test_any_sequence_of_ticks_and_undos_leaves_what_was_kept_by_hand(some: list) -> None:
    model = Model()
    entries = []
    for number, step in enumerate(some):
        entries.append(entry(number, *model.draft(step)))
        assert same(played(entries, "1"), model)


@settings(deadline=None, derandomize=True, max_examples=12)
@given(st.lists(steps, min_size=1, max_size=12))
def test_on_the_disk_and_through_an_export_it_is_the_same(tmp_path_factory, some: list) -> None:
    folder: Path = tmp_path_factory.mktemp("log")
    model = Model()
    log, other = Log(folder / "a.sqlite"), Log(folder / "b.sqlite")
    for step in some:
        kind, body = model.draft(step)
        log.append("1", [(kind, "", body)])
    other.take_in(from_text(to_csv(log.entries()), "x"))
    assert same(played(log.entries(), "1"), model)
    assert played(other.entries(), "1") == played(log.entries(), "1")


def test_copies_do_not_mix() -> None:
    entries = [entry(1, *lead("R1", "1", "A.1"), copy="A"), entry(2, *lead("R1", "1", "A.2"), copy="B")]
    assert played(entries, "A").leads["R1", "1"].terminal == "A.1"
    assert played(entries, "B").leads["R1", "1"].terminal == "A.2"
    assert not played(entries, "C")


def test_what_a_later_version_writes_is_passed_over() -> None:
    entries = [entry(1, "smelled", {"of": "varnish"}), entry(2, NOTE, {"text": "hm", "photo": "a.jpg"})]
    bench = played(entries, "1")
    assert bench.notes == (("2026-11-25T12:00:02.000002Z", "", "hm"),)
    assert bench.last == "2026-11-25T12:00:02.000002Z"
    assert not bench
