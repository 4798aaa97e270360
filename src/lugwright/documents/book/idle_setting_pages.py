"""The idle setting in the book: what was measured, where to set it, what each turn does, what misleads."""

from __future__ import annotations

from collections.abc import Iterator

from lugwright.bringup.idle_results import Advice, IdleMeasured
from lugwright.bringup.results import IdleSetting
from lugwright.documents.book.blocks import Block, Box, Heading, Items, Lines, Paragraph, Section, cell_words
from lugwright.documents.book.blocks import Column as _Column
from lugwright.documents.book.chart_tables import bias_range_table, idle_rows_table
from lugwright.documents.book.idle_setting_tables import (
    measured_table,
    reach_table,
    reads,
    resistors_table,
    turns_table,
)


def idle_setting_pages(setting: IdleSetting, measured: IdleMeasured | None = None) -> Section:
    """Return how the idle is set and what the control can do; what was measured comes first."""
    blocks: list[Block] = []
    if setting.cautions:
        blocks.append(Box("danger", "Caution", tuple(("", words) for words in setting.cautions)))
    if measured is not None:
        blocks += _measured(measured)
        blocks.append(Heading("As computed"))
    blocks += [Paragraph(f"Method: {setting.method}. Target: {setting.target}."), idle_rows_table(setting)]
    if setting.advice is not None and (measured is None or measured.advice is None):  # one aim a page
        blocks += _way(setting.advice, "From the setting of the build file")
    if setting.bias_range:
        blocks += [Heading("What the control can do"), bias_range_table(setting)]
    if setting.reach:
        blocks += [Paragraph("With tubes at the ends of their band, and the mains off:"), reach_table(setting.reach)]
    if setting.advice is not None and setting.advice.misleading:
        words = tuple(("", text) for text in setting.advice.misleading)
        blocks.append(Box("note", "Where a shortcut misleads", words))
    if measured is None:
        blocks.append(Lines("Set to, on which day, after how long a warm-up", 4))
    return Section("idle-setting", "Idle setting", tuple(blocks), hands_inside=True)


def _measured(measured: IdleMeasured) -> Iterator[Block]:
    when = f", {measured.read_on} UTC" if measured.read_on else ""
    yield Heading(f"As measured{when}")
    yield Paragraph(f"Read: {'; '.join(measured.readings)}.")
    if measured.findings:
        tone = "stop" if measured.findings[0].grade.value in ("danger", "fault") else "note"
        words = tuple(
            (f"{f.what[:1].upper()}{f.what[1:]}.", f"Found: {f.found}. Wanted: {f.wanted}. Do: {f.do}.")
            for f in measured.findings
        )
        yield Box(tone, "What the readings say", words)
    if not measured.tubes:
        return
    yield measured_table(measured)
    yield Paragraph(" ".join(_where_from(measured)))
    if measured.advice is not None:
        yield from _way(measured.advice, "From where it stands")


def _where_from(measured: IdleMeasured) -> Iterator[str]:
    for t in measured.tubes:
        yield (
            f"{t.tube}: cathode current from {t.cathode_from}, screen current from {t.screen_from}, plate current from "
            f"{t.plate_from}; plate volts {t.plate_v_from}."
        )
    for other in measured.others:
        yield f"{other.tube} plate current by {other.method}: {1e3 * other.plate_a.value:.1f} mA."
    if measured.match is not None:
        match = measured.match
        yield (
            f"{' and '.join(match.tubes)} are {match.apart:.0%} apart, {match.words}; "
            f"{1e3 * match.left_over_a:.1f} mA do not cancel in the output transformer."
        )
    for name, share in measured.controls:
        yield f"{name} stands at about {share:.0%} of its travel."


def _way(advice: Advice, title: str) -> Iterator[Block]:
    if advice.set_to:
        yield Heading(f"{title}, to {advice.target.aim:.0%} of the plate limit")
        yield Items(tuple(_steps(advice)))
        if advice.high_mains_share is not None:
            yield Paragraph(f"Set so, the mains 10 % high bring the hottest tube to {advice.high_mains_share:.0%}.")
        yield turns_table(advice)
    if advice.resistors:
        names = " and ".join(advice.resistors[0].resistors)
        yield Heading(f"Another cathode resistor at {names}")
        if advice.as_it_is:
            yield Paragraph(advice.as_it_is)
        yield resistors_table(advice)


def _steps(advice: Advice) -> Iterator[str]:
    for each in advice.set_to:
        shown = ", ".join(f"{cell_words(_Column(''), reads(s))} at {s.tube}" for s in each.tubes)
        if not each.reached:
            yield f"{each.control}: the aim is out of its reach; at {each.wanted:.0%} of its travel it reads {shown}."
        elif each.words.startswith("leave"):
            yield f"{each.control}: leave it where it is; it reads {shown}."
        else:
            yield f"{each.control}: turn it {each.words}, until the meter reads {shown}."
