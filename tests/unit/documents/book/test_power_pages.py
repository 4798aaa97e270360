"""The section on output power: what stands in it, and its charts."""

from __future__ import annotations

from dataclasses import replace

import pytest

from lugwright.documents.book.blocks import Figure, Heading, Paragraph, Table
from lugwright.documents.book.power_pages import certificate_words, limit_words, load_words, power_pages
from lugwright.documents.book.power_tables import harmonic_table, point_table, sag_table
from lugwright.documents.drawings.power_chart import power_charts
from lugwright.documents.tables import all_tables

from ....sample_power import NO_POWER, POWER, RATING
from .sample_records import sample


def test_headings_and_figures_in_order() -> None:
    blocks = power_pages(POWER, (RATING,)).blocks
    assert [b.text for b in blocks if isinstance(b, Heading)] == [
        "Harmonics",
        "Tubes and supply at full drive",
        "Two tones",
    ]
    assert [b.name for b in blocks if isinstance(b, Figure)] == ["power-drive", "power-wave", "power-band"]
    assert len([b for b in blocks if isinstance(b, Table)]) == 6


def test_the_power_and_the_caution_come_first() -> None:
    words = [b.text for b in power_pages(POWER).blocks if isinstance(b, Paragraph)]
    assert words[0] == (
        "A steady sine of 1.00 kHz at J1, knobs as in the build file, into a resistor of 8.0 Ω; the supply settled to "
        "it. 2.20 W at 5 % distortion with 80.0 mV; 3.60 W at 10 % distortion with 115 mV; 4.90 W at full drive, "
        "320 mV."
    )
    assert words[1].startswith("Measure it with a load on the speaker terminals, never without:")
    assert words[2] == ("First to run out of room: V2, by bottoming, from 130 mV at J1 on, 3.90 W at the speaker.")
    assert words[3] == (
        "1.00 kHz and 1.20 kHz, 40.0 mV each, 1.10 W together: all products, harmonics of both counted, are 6.8% of "
        "one tone."
    )
    assert words[-1] == certificate_words(POWER)


def test_a_refusal_is_all_that_is_printed() -> None:
    (block,) = power_pages(NO_POWER).blocks
    assert isinstance(block, Paragraph)
    assert block.text == (
        "No output power is promised with the 6V6GT (V2). Found: one full point only. Wanted: more rows. Measure it."
    )


def test_words_without_limit_and_with_a_loudspeaker() -> None:
    assert limit_words(replace(POWER, first_limit=None)) == "No stage runs out of room up to full drive."
    assert load_words(replace(POWER, load="loudspeaker model")) == "the loudspeaker model, 8.0 Ω nominal"


def test_tables_hold_every_drive_harmonic_and_joint() -> None:
    assert [row[1] for row in point_table(POWER).rows] == [1.0, 4.9]
    assert len(harmonic_table(POWER).rows) == 19
    assert harmonic_table(POWER).rows[0] == pytest.approx((2, 2.9, 2.9, 20.0))
    assert sag_table(POWER).rows[0] == ("B+1", 281.0, 277.0, 4.0)


def test_charts_show_power_distortion_and_waveform() -> None:
    charts = {chart.name: chart.svg for chart in power_charts(POWER)}
    assert set(charts) == {"power_drive", "power_wave", "power_band"}
    assert "frequency, Hz" in charts["power_band"]
    assert "2.20 W at 5 %" in charts["power_drive"]
    assert "distortion, %" in charts["power_drive"]
    assert "115 mV" in charts["power_wave"]
    assert [c.name for c in power_charts(replace(POWER, waves=(), over_frequency=()))] == ["power_drive"]


def test_every_drive_is_in_the_csv() -> None:
    tables = all_tables(replace(sample(), power=POWER))
    assert {"power.csv", "harmonics.csv", "headroom.csv"} <= set(tables)
    assert tables["headroom.csv"].splitlines()[1].startswith("V2,bottoming,")
    assert "power.csv" not in all_tables(replace(sample(), power=NO_POWER))
