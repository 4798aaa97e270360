"""The first and the last pages: cautions, how to use the book, log pages, figures from memory."""

from __future__ import annotations

from lugwright.buildfile.build import Build, Tube
from lugwright.documents.book.blocks import Block, Box, Column, Heading, Items, Lines, Paragraph, Section, Table
from lugwright.documents.book.circuit_tables import unconfirmed_table
from lugwright.documents.book.records import BookRecords, Unconfirmed
from lugwright.documents.cautions import CAUTIONS

LOG_ROWS = 12


def caution_box() -> Box:
    """Return the cautions of the first page."""
    return Box("danger", "Read this before anything else", tuple((c.title, c.text) for c in CAUTIONS))


def subtitle(build: Build) -> tuple[str, ...]:
    """Return the lines under the title."""
    tubes = [f"{p.name} {p.values.type.name}" for p in build.parts if isinstance(p.values, Tube)]
    lines = [f"Build book. Mains {build.mains_v:g} V, {build.mains_hz:g} Hz."]
    if tubes:
        lines.append("Tubes: " + ", ".join(tubes))
    return tuple(lines)


def how_to_use() -> Section:
    """Return how the book is read at the bench."""
    order = (
        "Read the cautions and the findings first. A finding of grade danger or fault is settled before metal is cut.",
        "Buy from the parts list; check every part with a meter as it comes out of its bag.",
        "Print the drill sheets at 100 %, measure both check bars with a steel rule, and only then mark metal.",
        "Cut the wires of the cut list, tie a numbered tag to each.",
        "Work through the job cards in their order, one box at a time. A lug that waits stays unsoldered until the "
        "card that names it.",
        "Read the ohms chart with the plug out. Every reading outside its window is found before power goes on.",
        "Power up by the charts, step by step. A reading outside its window ends the step: plug out, find out why.",
        "Write what you read beside what was computed. In ten years it is the most useful page of the book.",
    )
    words = (
        "The wiring side is the open side of the chassis, upside down on the bench, front panel toward you. All "
        "lefts, rights and pin numbers are seen from there; pins count clockwise.",
        "Ground is the circuit's reference, where the black meter lead goes. Chassis is the metal. Earth is the "
        "protective conductor of the mains. They are three different things, joined only where a bond says so.",
        "Volts are against ground unless two points are named. Idle means mains on, no signal.",
        "A window (from, to) holds 99 of 100 good builds: parts within tolerance, tubes within their type's spread, "
        "mains as far off as stated, and a meter of 10 Mohm that is off by 1 percent.",
        "Watts with a minus are given, not taken: a winding that feeds the rest.",
        "V1a is section a of tube V1; R3.1 is terminal 1 of R3; A.4 is lug 4 of strip A; W12 is wire 12.",
    )
    blocks = (Heading("In this order"), Items(order), Heading("Words and signs"), Items(words))
    return Section("how", "How to use this book", blocks)


def log_pages(build: Build) -> Section:
    """Return empty pages for what the builder reads and changes."""
    tubes = [f"{p.name} {p.values.type.name}" for p in build.parts if isinstance(p.values, Tube)]
    blank = [Column(name, kind="blank", grow=1) for name in ("B+ [V]", "idle [mA]", "by")]
    sessions = Table(
        (Column("date", kind="blank", grow=1), Column("mains [V]", kind="blank", grow=1), *blank,
         Column("what was done, what was found", kind="blank", grow=4)),
        ((None,) * 6,) * LOG_ROWS,
    )  # fmt: skip
    columns = (
        Column("tube", grow=2), Column("maker, mark", kind="blank", grow=3), Column("tester", kind="blank", grow=2),
        Column("idle [mA]", kind="blank", grow=2), Column("fitted on", kind="blank", grow=2),
    )  # fmt: skip
    blocks = (
        Heading("Work and readings"),
        sessions,
        Heading("Tubes fitted"),
        Table(columns, tuple((name, None, None, None, None) for name in tubes)),
        Lines("Changes to the circuit, and why", 8),
    )
    return Section("log", "Log", tuple(b for b in blocks if not isinstance(b, Table) or b.rows))


def unconfirmed_pages(records: BookRecords) -> Section:
    """Return the figures that nobody has looked up on paper."""
    groups: dict[str, list[Unconfirmed]] = {}
    for figure in records.unconfirmed:
        groups.setdefault(figure.group, []).append(figure)
    blocks: list[Block] = [
        Paragraph(
            "These figures come from memory, not from a sheet that was read. Check those your build leans on before "
            "you trust a rating or drill a hole. What your build file states itself is not in this list."
        )
    ]
    for group, figures in groups.items():
        blocks += [Heading(group.capitalize()), unconfirmed_table(tuple(figures))]
    return Section("unconfirmed", "Unconfirmed figures", tuple(blocks))
