"""The metal and the wire: drill sheets, wiring side, strips and sockets, wire list, cut list."""

from __future__ import annotations

from lugwright.bringup.results import HeaterAtSocket
from lugwright.buildfile.build import Build
from lugwright.documents.book.blocks import (
    TICK,
    Block,
    Figure,
    Heading,
    Paragraph,
    Section,
    Sheet,
    Table,
    gathered,
    with_columns,
)
from lugwright.documents.book.records import BookRecords
from lugwright.documents.book.wiring_tables import (
    cut_table,
    heaters_table,
    holes_table,
    lugs_table,
    other_owners,
    totals_table,
    wires_table,
)
from lugwright.layout.results import Plan
from lugwright.workorder.results import WorkOrder

MOST_MM = 240.0  # of a strip drawing
DETAILS = (
    "Strips at twice their size, sockets larger. Leads stand on the side they come from; in brackets the joint of the "
    "lug, behind it the job card that solders it, with the last of its leads."
)


def drill_pages(records: BookRecords, paper: str) -> Section:
    """Return the hole table and the template sheets, each a page at 1:1."""
    sheets = records.drill_sheets.get(paper, ())
    blocks: list[Block] = []
    if records.holes:
        blocks += [
            Paragraph(
                "x and y are seen from inside: on the plate from its rear left corner with the wiring side up, on a "
                "panel along the chassis and up from the plate. Punch pilot holes first, deburr, then punch."
            ),
            Paragraph(
                "A size from memory is measured on your own part before the drill is chosen. Where the size comes from "
                "the part, the part is the template: hold it to the center and mark its holes. Socket screws are "
                "assumed to stand across the key; turn your socket on its hole and see."
            ),
            holes_table(records.holes),
        ]
    if sheets:
        blocks.append(
            Paragraph(
                "The template follows, one page a sheet. Print at 100 %, page scaling off, and lay a steel rule on "
                "both check bars of every sheet: 100 mm, or do not use it. Seen from the side named on each sheet."
            )
        )
    blocks += [
        Sheet(
            f"drill-{k}",
            svg,
            f"Drill template 1:1, sheet {k} of {len(sheets)}",
            paper,
            "Every hole stands in the table of holes.",
        )
        for k, svg in enumerate(sheets, start=1)
    ]
    return Section("drill", "Drill template", tuple(blocks))


def wiring_pages(records: BookRecords, paper: str) -> Section:
    """Return the wiring side, each sheet on the paper it needs."""
    sheets = records.wiring_sheets.get(paper, ())
    blocks = [
        Sheet(
            f"wiring-{k}",
            sheet.svg,
            _wiring_words(k, len(sheets), sheet.paper, paper),
            sheet.paper,
            "Every wire stands in the wire list, every lead in the lug tables.",
        )
        for k, sheet in enumerate(sheets, start=1)
    ]
    return Section("wiring", "Wiring side", tuple(blocks), hands_inside=True)


def _wiring_words(number: int, count: int, paper: str, book: str) -> str:
    words = "Wiring side" + (f", sheet {number} of {count}" if count > 1 else "")
    return words + (f". Print this page on {paper}; on {book} it could not be read" if paper != book else "")


def detail_pages(records: BookRecords, plan: Plan) -> Section:
    """Return every strip and socket enlarged with all that goes in each lug, then a table of the rest."""
    build, order = records.build, records.work_order
    blocks: list[Block] = [Paragraph(DETAILS)] if records.strip_drawings or records.socket_drawings else []
    for kind, drawings in (("Strip", records.strip_drawings), ("Socket", records.socket_drawings)):
        for name, svg in drawings.items():
            caption = f"{kind} {name}"
            said = _in_words(lugs_table(build, plan, (name,), order))
            blocks.append(Figure(f"{kind.lower()}-{name}", svg, caption, MOST_MM, instead=said))
    others = gathered(lugs_table(build, plan, other_owners(build, plan), order), 4)
    if others.rows:
        blocks += [Heading("Pots, jacks, cans, buses, bolts"), others]
    return Section("lugs", "Strips and sockets, lug by lug", tuple(blocks), hands_inside=True)


def _in_words(table: Table) -> str:
    """Return the same as a drawing of lugs in words, for one who cannot see it."""
    said = []
    for label, electrode, joint, card, *_, leads in gathered(table, 4).rows:
        names = ", ".join(str(w) for w in (electrode, joint, f"card {card}" if card else "") if w)
        said.append(f"{label}{f' ({names})' if names else ''}: {leads or 'nothing'}.")
    return " ".join(said)


def wire_pages(
    build: Build, plan: Plan, heaters: tuple[HeaterAtSocket, ...] = (), order: WorkOrder | None = None
) -> Section:
    """Return the wire list, and what the heater wires leave at each socket."""
    table = with_columns(wires_table(plan, order), TICK)
    text = f"All {len(plan.wires)} wires of {build.title}. Cut lengths hold slack and twist."
    blocks: list[Block] = [Paragraph(text), table]
    if heaters:
        blocks += [Heading("Heater volts at the sockets, with the drop in these wires"), heaters_table(heaters)]
    return Section("wires", "Wire list", tuple(blocks), landscape=True, hands_inside=True)


def cut_pages(order: WorkOrder) -> Section:
    """Return the cut list and how much wire to buy."""
    blocks: list[Block] = [with_columns(cut_table(order), TICK)]
    blocks += [Heading("Wire in all"), totals_table(order)] if order.totals_mm else []
    return Section("cut", "Cut list", tuple(blocks))
