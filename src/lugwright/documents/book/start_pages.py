"""Switching on and off: the supply over the first minute, fuses, surge, and how long it stays dangerous."""

from __future__ import annotations

from lugwright.circuit.starting import FilterRow, Start
from lugwright.documents.book.blocks import Block, Box, Column, Figure, Heading, Paragraph, Section, Table
from lugwright.documents.drawings.start_chart import decay_chart_svg, start_chart_svg

IN_WORDS = "The highest volts of each filter capacitor, and its time to 60 V, are in the table below."
MOST_MM = 100.0


def start_pages(start: Start, rows: tuple[FilterRow, ...]) -> Section:
    """Return what the supply does after switch-on and after switch-off."""
    blocks: list[Block] = [
        Paragraph(
            "Switched on cold at nominal mains: heaters take several times their current, the reservoirs fill, and "
            f"until the tubes draw current the volts stand above those of idle. {_tubes(start)}"
        ),
        Figure("start", start_chart_svg(start), "From switch-on", MOST_MM, 1.0, IN_WORDS),
        Figure("switch-off", decay_chart_svg(start), "From switch-off, tubes warm", MOST_MM, 1.0, IN_WORDS),
        Box(
            "danger",
            "These times are no permission.",
            (("Measure:", "a bleeder can be open, a tube can be out, and a cold amplifier keeps its charge for as long "
              "as the last column says. Plug out, wait a minute, then measure every one of them below 60 V."),),
        ),
        start_table(rows),
        Heading("Mains current and fuses"),
        Paragraph(_inrush(start)),
    ]  # fmt: skip
    if start.fuses:
        blocks.append(fuse_table(start))
    return Section("start", "Switching on and off", tuple(blocks), follows=True)


def start_table(rows: tuple[FilterRow, ...]) -> Table:
    """Return every filter capacitor: volts while starting against what it stands, seconds to 60 V."""
    columns = (
        Column("capacitor"), Column("idle", "V", "number", 0), Column("highest", "V", "number", 0),
        Column("after", "s", "number", 2), Column("mains +10 %", "V", "number", 0), Column("rated", "V", "number", 0),
        Column("surge", "V", "number", 0), Column("to 60 V, tubes warm", "s", "number", 1),
        Column("to 60 V, tubes cold", "s", "number", 1),
    )  # fmt: skip
    return Table(
        columns,
        tuple(
            (r.name, r.idle_v, r.peak_v, r.peak_s, r.high_v, r.rated_v, r.surge_v, _seconds(r.warm_s),
             _seconds(r.cold_s))
            for r in rows
        ),
    )  # fmt: skip


def _seconds(seconds: float | None) -> float | str:
    return "not at all" if seconds is None else seconds


def fuse_table(start: Start) -> Table:
    """Return what each fuse carries at idle, at switch-on, and with the first filter capacitor shorted."""
    columns = (
        Column("fuse"), Column("idle", "A", "number", 3), Column("highest", "A", "number", 2),
        Column("worst half cycle", "A²s", "number", 3), Column("supply shorted", "A", "number", 2),
        Column("smallest slow fuse that stands it", "A", "number", 3),
    )  # fmt: skip
    return Table(
        columns,
        tuple((f.name, f.idle_a, f.peak_a, f.half_cycle_a2s, f.fault_a, f.suggested_a) for f in start.fuses),
    )


def _tubes(start: Start) -> str:
    halves = [tube.half_s for tube in start.tubes if tube.half_s is not None and not tube.rectifier]
    if not halves:
        return ""
    return f"The tubes reach half their current after about {min(halves):.0f} s; real ones differ by several seconds."


def _inrush(start: Start) -> str:
    worst = max(start.inrush, key=lambda inrush: inrush.peak_a)
    return (
        f"Highest mains current {worst.peak_a:.1f} A, when switched on {worst.switched}. A core that saturates takes "
        f"more for some half cycles; that is not computed. The copper alone would let {start.saturated_a:.0f} A "
        f"through, {start.saturated_a2s:.2g} A²s in a half cycle: about the most a start can take."
    )
