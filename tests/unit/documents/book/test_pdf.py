"""The PDF: what it says, how large its pages are, and that no word of a builder is read as markup."""

from __future__ import annotations

import io
import math
import re
from collections import Counter
from dataclasses import replace
from functools import cache

import pytest
from pypdf import PageObject, PdfReader
from pypdf.generic import DictionaryObject, IndirectObject

from lugwright.documents.book.blocks import Paragraph, Section
from lugwright.documents.book.content import book_content
from lugwright.documents.book.pdf import pdf_bytes, without_scaling
from lugwright.errors import DocumentError

from .sample_records import renamed, sample

HOSTILE = '#strike[x] $y^2$ *b* <b>t</b> & "q" \\ @ref `raw` // c'
MM = 72.0 / 25.4


@cache
def _pdf(paper: str) -> bytes:
    return pdf_bytes(book_content(sample(), paper), paper)


@cache
def _texts(paper: str) -> tuple[str, ...]:
    return tuple(page.extract_text() for page in PdfReader(io.BytesIO(_pdf(paper))).pages)


def _size_mm(page: PageObject) -> tuple[int, int]:
    return round(float(page.mediabox.width) / MM), round(float(page.mediabox.height) / MM)


def test_same_records_give_the_same_bytes() -> None:
    assert pdf_bytes(book_content(sample(), "A4"), "A4") == _pdf("A4")


def test_words_of_a_builder_appear_literally() -> None:
    content = book_content(renamed(HOSTILE), "A4")
    first = PdfReader(io.BytesIO(pdf_bytes(content, "A4"))).pages[0].extract_text()
    assert re.sub(r"\s", "", HOSTILE) in re.sub(r"\s", "", first)


def test_an_endless_word_breaks_instead_of_leaving_the_page() -> None:
    content = book_content(renamed("W" * 120), "A4")
    text = PdfReader(io.BytesIO(pdf_bytes(content, "A4"))).pages[0].extract_text().replace("\u200b", "")
    wide = [line for line in text.splitlines() if "WW" in line]
    assert sum(map(len, wide)) == 120
    assert max(map(len, wide)) < 25


def test_pages_have_the_size_of_the_paper() -> None:
    for paper, portrait, extra in (("A4", (210, 297), (420, 297)), ("Letter", (216, 279), (432, 279))):
        sizes = {_size_mm(page) for page in PdfReader(io.BytesIO(_pdf(paper))).pages}
        assert sizes == {portrait, portrait[::-1], extra}


def test_a_long_box_goes_on_to_the_next_page_instead_of_leaving_it() -> None:
    order = sample().work_order
    assert order is not None
    broken = tuple(f"rule {k:03d} could not be kept" for k in range(120))
    content = book_content(replace(sample(), work_order=replace(order, broken_rules=broken)), "A4")
    heights: dict[str, float] = {}

    def note(text: str, matrix: list[float], place: list[float], _font: object, _size: float) -> None:
        for found in re.findall(r"rule \d{3}", text):
            heights[found] = matrix[3] * place[5] + matrix[5]

    for page in PdfReader(io.BytesIO(pdf_bytes(content, "A4"))).pages:
        if "could not be kept" in page.extract_text():
            heights.clear()
            page.extract_text(visitor_text=note)
            assert len(set(heights.values())) == len(heights)
            assert min(heights.values(), default=99.0) > 18.0 * MM


def test_an_endless_row_goes_on_over_the_page_and_loses_nothing() -> None:
    build = sample().build
    long = " ".join(f"note{k:04d}" for k in range(1500))
    parts = tuple(replace(part, note=long if k == 3 else "") for k, part in enumerate(build.parts))
    content = book_content(replace(sample(), build=replace(build, parts=parts)), "A4")
    text = "".join(page.extract_text() for page in PdfReader(io.BytesIO(pdf_bytes(content, "A4"))).pages)
    assert len(set(re.findall(r"note\d{4}", text))) == 1500


def test_a_row_is_never_cut_by_the_end_of_a_page() -> None:
    build = sample().build
    notes = tuple(replace(part, note=f"first{k} " + "word " * 40 + f"last{k}") for k, part in enumerate(build.parts))
    content = book_content(replace(sample(), build=replace(build, parts=notes)), "A4")
    pages = [page.extract_text() for page in PdfReader(io.BytesIO(pdf_bytes(content, "A4"))).pages]
    first = {k: n for n, page in enumerate(pages) for k in re.findall(r"first(\d+)\b", page)}
    last = {k: n for n, page in enumerate(pages) for k in re.findall(r"last(\d+)\b", page)}
    assert len(first) == len(build.parts)
    assert first == last
    assert len(set(first.values())) > 2


def test_print_scaling_is_off() -> None:
    catalog = PdfReader(io.BytesIO(_pdf("A4"))).root_object
    assert catalog["/ViewerPreferences"]["/PrintScaling"] == "/None"


def test_a_pdf_that_cannot_be_told_so_is_refused_in_words() -> None:
    with pytest.raises(DocumentError) as error:
        without_scaling(_pdf("A4").replace(b"/ViewerPreferences<<", b"/ViewerPreference<<<"))
    assert str(error.value) == (
        "the printer cannot be told to leave the size alone\n"
        "  found:  a PDF whose last object is not its catalog\n"
        "  wanted: the catalog, the table of objects and the end of the file, in this order\n"
        "  do:     report this: templates from such a file may come out at another size"
    )


def test_the_pdf_is_tagged_named_and_in_english() -> None:
    reader = PdfReader(io.BytesIO(_pdf("A4")))
    catalog = reader.root_object
    assert catalog["/MarkInfo"]["/Marked"]
    assert catalog["/Lang"] == "en"
    assert catalog["/ViewerPreferences"]["/DisplayDocTitle"]
    assert reader.metadata is not None
    assert reader.metadata.title == sample().build.title


def test_every_drawing_has_words_and_tables_have_header_cells() -> None:
    records = sample()
    kinds: Counter[str] = Counter()
    words: list[str] = []
    reader = PdfReader(io.BytesIO(_pdf("A4")))
    for number in range(1, int(reader.trailer["/Size"])):
        found = reader.get_object(IndirectObject(number, 0, reader))
        if isinstance(found, DictionaryObject) and found.get("/Type") == "/StructElem":
            kinds[str(found["/S"])] += 1
            words += [str(found["/Alt"])] if found["/S"] == "/Figure" else []
    drawings = len(records.stage_drawings) + len(records.strip_drawings) + len(records.socket_drawings)
    drawings += len(records.wiring_sheets["A4"]) + len(records.drill_sheets["A4"])
    assert len(words) == drawings
    assert all(word.startswith("Drawing: ") for word in words)
    assert kinds["/TH"] > 50
    assert kinds["/TD"] > 500


def test_facts_of_the_records_are_in_the_text() -> None:
    text = "\n".join(_texts("A4"))
    for fact in ("423.45", "47 kΩ 0.5 W (yellow violet orange gold)", "over range", "solder now (all 3 in)",
                 "dim glow, 31 V across it", "R3 too small", "plate heat 12 W", "remembered from",
                 "Stop and pull the plug if", "60 to 70 % of the plate's limit"):  # fmt: skip
        assert fact in text


def test_cautions_are_on_the_first_page_and_the_reminder_where_hands_go_in() -> None:
    texts = _texts("A4")
    assert "These voltages kill, also after the plug is out." in texts[0]
    assert "unplug · wait · discharge · measure" not in texts[0]
    for title in ("Wire list", "Job cards", "Ohms chart", "Power-up charts"):
        page = next(text for text in texts[2:] if title in text)
        assert "unplug · wait · discharge · measure" in page


def test_every_page_after_the_first_is_numbered() -> None:
    for number, text in enumerate(_texts("A4")[1:], start=2):
        assert re.search(rf"(?m)(^|\D){number}\s*$", text), number


def test_long_tables_repeat_their_header_on_the_next_page() -> None:
    pages = [text for text in _texts("A4")[2:] if "Ohms chart" in text]
    assert len(pages) > 1
    assert all("expected" in text and "read" in text for text in pages)


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_both_check_bars_of_every_drill_sheet_are_100_mm_long(paper: str) -> None:
    pages = [p for p in PdfReader(io.BytesIO(_pdf(paper))).pages if "check bar: 100 mm" in p.extract_text()]
    assert len(pages) == len(sample().drill_sheets[paper])
    for page in pages:
        bars = [line for line in _lines_mm(page) if abs(math.hypot(*line) - 100.0) < 0.01]
        assert sorted((round(abs(x)), round(abs(y))) for x, y in bars) == [(0, 100), (100, 0)]


def _lines_mm(page: PageObject) -> list[tuple[float, float]]:
    """Return every straight line of a page as it comes out on paper, from its start to its end."""
    found: list[tuple[float, float]] = []
    here = (0.0, 0.0)

    def visit(operator: bytes, operands: list[float], matrix: list[float], _text_matrix: list[float]) -> None:
        nonlocal here
        if operator not in (b"m", b"l"):
            return
        x, y = (float(operand) for operand in operands)
        start, here = here, (x * matrix[0] + y * matrix[2] + matrix[4], x * matrix[1] + y * matrix[3] + matrix[5])
        if operator == b"l":
            found.append(((here[0] - start[0]) / MM, (here[1] - start[1]) / MM))

    page.extract_text(visitor_operand_before=visit)
    return found


def test_a_book_for_another_paper_is_refused_in_words() -> None:
    with pytest.raises(DocumentError) as error:
        pdf_bytes(book_content(sample(), "A4"), "Letter")
    assert str(error.value) == (
        "the book was made for another paper\n"
        "  found:  Letter\n"
        "  wanted: A4\n"
        "  do:     gather the content again for this paper"
    )


def test_a_short_chapter_that_follows_begins_where_the_one_before_ends_and_is_found_in_the_contents() -> None:
    content = book_content(sample(), "A4")
    short = [Section(f"s{k}", f"Short {k}", (Paragraph(f"Some words {k}."),), follows=k > 0) for k in range(3)]
    hands = Section("h", "Hands", (Paragraph("In."),), hands_inside=True, follows=True)
    apart = [Section("t", "Apart", (Paragraph("Alone."),)), hands]
    book = replace(content, sections=(*short, *apart))
    texts = [page.extract_text() for page in PdfReader(io.BytesIO(pdf_bytes(book, "A4"))).pages]
    assert len(texts) == 5  # cautions, contents, the three together, apart, the one with the reminder at its foot
    assert all(f"Some words {k}." in texts[2] for k in range(3))
    assert [line.split(" ")[-1] for line in texts[1].splitlines() if line.startswith("Short")] == ["3", "3", "3"]
    assert "Alone." in texts[3]
    assert "unplug" in texts[4]
