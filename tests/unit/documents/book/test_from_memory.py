"""The list of figures from memory: what it names, in which words, and that what was read is not on it."""

from __future__ import annotations

from dataclasses import replace

from lugwright.buildfile.build import Capacitor
from lugwright.catalogue.hardware_file import PANEL_FIGURES, SOCKET_FIGURES, STRIP_FIGURES, WIRE_FIGURES
from lugwright.catalogue.load import wire_types
from lugwright.catalogue.records import TUBE_LIMITS
from lugwright.documents.book.content import book_content
from lugwright.documents.book.from_memory import FIGURES, figures_from_memory
from lugwright.documents.book.records import Unconfirmed

from ..drawings.dense_plan import dense
from .sample_records import sample


def _found() -> list[Unconfirmed]:
    build, plan, hardware = dense()
    cut = replace(plan.wires[0], type="22 AWG solid 600 V")
    return list(figures_from_memory(build, hardware, wire_types(), replace(plan, wires=(cut,))))


def test_every_figure_of_the_catalogue_has_words() -> None:
    names = {*TUBE_LIMITS, *SOCKET_FIGURES, *STRIP_FIGURES, *WIRE_FIGURES, *PANEL_FIGURES} - {"lugs"}
    assert names <= set(FIGURES)


def test_every_kind_of_thing_is_there_with_its_users_and_units() -> None:
    rows = {(f.group, f.name, f.what): f for f in _found()}
    assert [*dict.fromkeys(f.group for f in _found())] == [
        "tubes", "bodies", "sockets", "strips", "panel parts", "wire",
    ]  # fmt: skip
    noval = rows["sockets", "noval", "screws apart 28.6 mm, screw holes 3.2 mm, lugs above the metal 10 mm"]
    assert noval.used_by == ("V1", "V2")
    inlet = next(f for f in _found() if f.name == "mains inlet")
    assert inlet.what == ("cutout 27 × 20 mm, where its lugs stand, most leads to a lug 2, depth 28 mm, width 48 mm")
    assert next(f for f in _found() if f.group == "wire").what == "current 2.10 A"
    assert any(f.name == "12AX7" and "cathode current 8.00 mA" in f.what for f in _found())
    films = next(f for f in _found() if f.name == "film capacitor")
    assert films.what.startswith("leads, weight, size ")
    assert films.what.endswith(" mm")
    of_film = {p.name for p in dense()[0].parts if isinstance(p.values, Capacitor) and p.values.style == "film"}
    assert set(films.used_by) == of_film


def test_what_was_read_on_a_sheet_and_wire_that_is_not_cut_are_not_there() -> None:
    found = _found()
    assert all(not f.source.confirmed for f in found)
    assert not any("pin circle" in f.what for f in found)
    assert [f.name for f in found if f.group == "wire"] == ["22 AWG solid 600 V"]


def test_the_page_has_a_heading_for_each_group() -> None:
    content = book_content(replace(sample(), unconfirmed=tuple(_found())), "A4")
    section = next(s for s in content.sections if s.key == "unconfirmed")
    headings = [getattr(block, "text", "") for block in section.blocks if type(block).__name__ == "Heading"]
    assert headings == ["Tubes", "Bodies", "Sockets", "Strips", "Panel parts", "Wire"]
