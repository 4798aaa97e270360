"""The pages on switching on and off: the caution, the tables, and both plots."""

from __future__ import annotations

from dataclasses import replace

from lugwright.circuit.starting import FilterRow, FuseInrush, Inrush, Line, Start, WarmingTube
from lugwright.documents.book.blocks import Box, Figure, Paragraph, Table
from lugwright.documents.book.start_pages import fuse_table, start_pages, start_table
from lugwright.documents.drawings.start_chart import decay_chart_svg, start_chart_svg

START = Start(
    how="everything switched on together",
    inrush=(
        Inrush("as the mains passes zero", 4.2, 0.003, 2.1, 0.4),
        Inrush("at the peak of the mains", 6.3, 1e-4, 2.2, 0.4),
    ),
    saturated_a=60.0, saturated_a2s=15.0,
    fuses=(FuseInrush("F1", 6.3, 0.12, ((0.01, 2.5), (60.0, 0.25)), 0.21, 3.1, None),),
    tubes=(WarmingTube("V1", False, False, 3.8, 9.8, 13.9), WarmingTube("V2", True, True, 3.6, 1.7, 2.6)),
    capacitors=(), lines=(Line("B+1", (0.03, 1.0, 60.0), (100.0, 330.0, 251.3)),),
    decay=(Line("B+1", (0.0, 3.1, 120.0), (251.3, 60.0, 0.01)),),
    duration_s=60.0, decay_s=120.0, off_idle_v=0.01, off_idle_joint="B+1", steps=90,
)  # fmt: skip
ROWS = (FilterRow("C1", 251.3, 330.0, 4.2, 363.0, 350.0, 385.0, 3.1, None),)


def test_the_section_has_both_plots_the_caution_and_the_tables() -> None:
    section = start_pages(START, ROWS)
    kinds = [type(block) for block in section.blocks]
    assert kinds.count(Figure) == 2
    assert kinds.count(Table) == 2
    (box,) = (block for block in section.blocks if isinstance(block, Box))
    assert (box.tone, box.title) == ("danger", "These times are no permission.")
    assert "measure every one of them below 60 V" in box.entries[0][1]
    assert kinds.index(Box) < kinds.index(Table)  # nobody reads the seconds before the caution


def test_the_words_name_the_first_tubes_and_the_worse_moment() -> None:
    words = " ".join(block.text for block in start_pages(START, ROWS).blocks if isinstance(block, Paragraph))
    assert "The tubes reach half their current after about 10 s" in words  # a rectifier does not count
    assert "Highest mains current 6.3 A, when switched on at the peak of the mains." in words
    assert "The copper alone would let 60 A through, 15 A²s in a half cycle: about the most a start can take." in words


def test_without_a_bleeder_the_table_says_not_at_all() -> None:
    (row,) = start_table(ROWS).rows
    assert row == ("C1", 251.3, 330.0, 4.2, 363.0, 350.0, 385.0, 3.1, "not at all")


def test_the_table_of_fuses() -> None:
    assert fuse_table(START).rows == (("F1", 0.21, 6.3, 0.12, 3.1, None),)


def test_the_plots_show_every_joint_and_sixty_volts() -> None:
    assert ">B+1<" in start_chart_svg(START)
    decay = decay_chart_svg(START)
    assert ">B+1<" in decay
    assert ">60 V<" in decay


def test_the_time_axis_after_switch_off_ends_soon_after_the_last_joint_is_safe() -> None:
    slow = replace(START, decay=(Line("B+1", (0.0, 50.0, 120.0), (251.3, 61.0, 5.0)),))
    assert ">60<" in decay_chart_svg(slow)
    assert ">60<" not in decay_chart_svg(START)
