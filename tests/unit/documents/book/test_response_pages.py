"""The section on small signals: what stands in it, and its charts."""

from __future__ import annotations

from dataclasses import replace

from lugwright.documents.book.blocks import Figure, Heading, Paragraph, Table, cell_words
from lugwright.documents.book.response_pages import assumed_words, hiss_words, loop_words, margin_words, response_pages
from lugwright.documents.book.response_tables import curve_table, pole_table, summary_table
from lugwright.documents.drawings.response_chart import gain_chart_svg, response_charts
from lugwright.documents.tables import all_tables

from ....sample_response import CURVE, HISS, LOOP, LOUD, RESPONSE
from .sample_records import sample


def test_headings_and_figures_in_order() -> None:
    blocks = response_pages(RESPONSE).blocks
    assert [b.text for b in blocks if isinstance(b, Heading)] == [
        "Stages at 1 kHz",
        "Feedback",
        "Coming to rest",
        "Hiss",
    ]
    assert [b.name for b in blocks if isinstance(b, Figure)] == ["response-gain", "response-tone", "response-loop"]


def test_without_feedback_there_is_no_word_of_it() -> None:
    blocks = response_pages(replace(RESPONSE, loop=None)).blocks
    assert "Feedback" not in [b.text for b in blocks if isinstance(b, Heading)]


def test_the_summary_leaves_an_end_that_is_not_reached_empty() -> None:
    (row,) = summary_table(RESPONSE).rows
    assert row[:2] == ("knobs as set", 31.5)
    assert row[3] is None


def test_what_is_assumed_is_said() -> None:
    assert assumed_words() == (
        "Assumed, from memory: 0.7 pF between the contacts of a socket, 5 pF of wiring at each plate and grid, 200 pF "
        "across each part of the output transformer's primary, a loudspeaker with 80 µH for each of its ohms."
    )
    assert any(isinstance(b, Paragraph) and b.text == assumed_words() for b in response_pages(RESPONSE).blocks)


def test_words_on_feedback_and_hiss() -> None:
    assert loop_words(LOOP) == (
        "From T2.speaker.3 through R33 back to feedback: 6.2 dB less gain at 1 kHz, and about as much less distortion."
    )
    assert loop_words(replace(LOOP, positive=True, reduction_db=-3.0)) == (
        "From T2.speaker.3 through R33 back to feedback: 3.0 dB more gain at 1 kHz. It adds."
    )
    assert margin_words(LOOP) == "Left before it oscillates: 51° at 60 kHz and 26 dB at 5.1 Hz."
    assert margin_words(replace(LOOP, margins=())) == ""
    assert hiss_words(HISS, "nothing plugged in") == (
        "1.78 mV at LS1 from 20 Hz to 20 kHz, 1.60 mV A-weighted; input: nothing plugged in. That is 80 dB below 40 W. "
        "Resistors and good tubes alone: a real amplifier is rarely quieter."
    )
    alone = hiss_words(replace(HISS, signal_to_noise_db=None), "a guitar of 10.0 kΩ")
    assert "dB below" not in alone


def test_a_swing_that_grows_is_told_from_one_that_fades() -> None:
    poles = replace(RESPONSE.poles, poles=(*RESPONSE.poles.poles, replace(RESPONSE.poles.poles[0], growth_per_s=1e3)))
    words = [cell_words(pole_table(poles).columns[3], row[3]) for row in pole_table(poles).rows]
    assert words == ["fades 16.9 µs", "fades 42.6 ms", "grows 1.00 ms"]


def test_only_hiss_that_counts_is_printed() -> None:
    sources = (*HISS.sources, replace(HISS.sources[1], part="R99", share=0.001))
    blocks = response_pages(replace(RESPONSE, hiss=replace(HISS, sources=sources))).blocks
    tables = [b for b in blocks if isinstance(b, Table)]
    assert [row[0] for row in tables[-1].rows] == ["R10", "V1a"]


def test_charts_name_every_line_and_knob() -> None:
    charts = {chart.name: chart.svg for chart in response_charts(RESPONSE)}
    assert set(charts) == {"response_gain", "response_tone", "response_loop"}
    assert "Treble, 0 and full" in charts["response_tone"]
    assert "Volume" not in charts["response_tone"]
    assert "51° left at 60 kHz" in charts["response_loop"]
    family = gain_chart_svg(replace(RESPONSE, curves=(CURVE, LOUD)))
    assert "Treble 1" in family
    assert "Gain from J1.tip to LS1" in family
    assert "phase, degrees" not in family
    assert "phase, degrees" in charts["response_gain"]


def test_every_point_is_in_the_csv() -> None:
    assert len(curve_table(RESPONSE).rows) == len(CURVE.hertz)
    tables = all_tables(replace(sample(), response=RESPONSE))
    assert {"response.csv", "margins.csv", "stage_gains.csv", "knobs.csv", "poles.csv", "hiss.csv"} <= set(tables)
    assert tables["hiss.csv"].splitlines()[1] == "R10,resistance,1400,62"
