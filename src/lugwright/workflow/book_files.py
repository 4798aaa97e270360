"""What the book and the files beside it are made of: every drawing, table and page of one build."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor

from lugwright.bringup.idle.targets import MIDDLE
from lugwright.documents.book.content import book_content
from lugwright.documents.book.from_memory import figures_from_memory
from lugwright.documents.book.html import html_text
from lugwright.documents.book.pdf import pdf_bytes
from lugwright.documents.book.records import BookRecords
from lugwright.documents.drawings.drill_plan import faces
from lugwright.documents.drawings.drill_template import drill_template_svg
from lugwright.documents.drawings.dxf import drill_dxf
from lugwright.documents.drawings.plate_curves import plate_curves_svg
from lugwright.documents.drawings.power_chart import power_charts
from lugwright.documents.drawings.response_chart import response_charts
from lugwright.documents.drawings.spread_chart import spread_chart_svg
from lugwright.documents.tables import all_tables
from lugwright.second_process import Answers
from lugwright.solve.power_results import Power
from lugwright.solve.study import at_full_power
from lugwright.workflow.book_drawings import BookDrawings
from lugwright.workflow.idle_bench import measured_idle
from lugwright.workflow.opened import Opened
from lugwright.workflow.power_up import taken_readings
from lugwright.workflow.record import bench_record

Progress = Callable[[str], None]


def book_files(opened: Opened, paper: str, progress: Progress, charts: Answers | None) -> Iterator[tuple[str, bytes]]:
    """Yield every file of the book, its name first; ``charts`` still under way are gathered once the metal is drawn."""
    name = opened.path.stem
    progress("drawing")
    drawings = BookDrawings(
        paper, opened.build, opened.plan, opened.hardware, opened.work_order, opened.idle, opened.plate_curves
    )
    _ = (drawings.inside, opened.ratings, opened.plan_findings, opened.before_mains)
    if charts is not None:
        progress("computing the charts")
        charts.gather()
    records = book_records(opened, drawings)
    progress("setting the pages")
    content = book_content(records, paper)
    with ThreadPoolExecutor(1) as typesetter:  # it needs no Python while it works
        pdf = typesetter.submit(pdf_bytes, content, paper)
        yield f"{name}.html", html_text(content).encode()
        for table, text in all_tables(records).items():
            yield f"tables/{table}", text.encode()
        yield from _drawing_files(opened, records, drawings)
        yield "findings.json", _json([str(f) for f in opened.all_findings])
        yield f"{name}_{paper.lower()}.pdf", pdf.result()


def _file_word(words: str) -> str:
    """Return a kind of work, or a layer, as it stands in the name of a file."""
    return words.lower().replace("+", "_plus").replace(" ", "_")


def _drawing_files(opened: Opened, records: BookRecords, drawings: BookDrawings) -> Iterator[tuple[str, bytes]]:
    build, plan, hardware = opened.build, opened.plan, opened.hardware
    for count, sheet in enumerate(drawings.inside.wiring, start=1):
        yield f"drawings/wiring_side_{count}.svg", sheet.svg.encode()
    for count, after in enumerate(drawings.inside.phases, start=1):
        yield f"drawings/work_{count:02d}_{_file_word(after.phase)}.svg", after.svg.encode()
    for count, upto in enumerate(drawings.inside.layers, start=1):
        yield f"drawings/layer_{count}_{_file_word(upto.layer)}.svg", upto.svg.encode()
    for count, drawing in enumerate(drawings.stages, start=1):
        yield f"drawings/circuit_{count:02d}_{drawing.stage}.svg", drawing.svg.encode()
    for chart in response_charts(records.response) if records.response else ():
        yield f"drawings/{chart.name}.svg", chart.svg.encode()
    for driven in power_charts(records.power) if isinstance(records.power, Power) else ():
        yield f"drawings/{driven.name}.svg", driven.svg.encode()
    if records.spread is not None:
        yield "drawings/spread.svg", spread_chart_svg(records.spread).encode()
    for strip, svg in drawings.strips.items():
        yield f"drawings/strip_{strip}.svg", svg.encode()
    for socket, svg in drawings.sockets.items():
        yield f"drawings/socket_{socket}.svg", svg.encode()
    for curves in opened.plate_curves:
        yield f"drawings/plate_{'_'.join(curves.together)}.svg", plate_curves_svg(curves).encode()
    for face in faces(build):
        yield f"drawings/drill_{face}.svg", drill_template_svg(build, plan, hardware, face).encode()
        yield f"drawings/drill_{face}.dxf", drill_dxf(build, plan, hardware, face).encode()


def book_records(opened: Opened, drawings: BookDrawings) -> BookRecords:
    """Return everything the book is printed from."""
    build, plan, hardware = opened.build, opened.plan, opened.hardware
    return BookRecords(
        build=build,
        findings=opened.all_findings,
        idle=opened.idle,
        ratings=(*opened.ratings[0], *opened.start_ratings[0]),
        start=opened.started,
        heaters=opened.heaters,
        mains_rows=opened.mains_rows,
        filter_rows=opened.filter_rows,
        plan=plan,
        plan_terms=opened.plan_terms,
        lug_count=opened.lug_count,
        worst_places=opened.worst_places,
        work_order=opened.work_order,
        ohms_chart=opened.ohms_chart,
        before_mains=opened.before_mains,
        steps=opened.steps,
        taken=taken_readings(opened),
        idle_setting=opened.idle_setting,
        idle_measured=measured_idle(opened, (), MIDDLE),
        response=at_full_power(opened.response, opened.power_answer),
        spread=opened.spread,
        power=opened.power_answer,
        driven_ratings=opened.driven_ratings_of(opened.power_answer),
        stage_drawings=drawings.stages,
        wiring_sheets={drawings.paper: drawings.inside.wiring},
        strip_drawings=drawings.strips,
        socket_drawings=drawings.sockets,
        card_drawings=drawings.inside.cards,
        drill_sheets={drawings.paper: drawings.drill_sheets},
        holes=drawings.holes,
        unconfirmed=tuple(figures_from_memory(build, hardware, hardware.wires, plan)),
        plate_charts=drawings.plates,
        record=bench_record(opened),
    )


def _json(value: object) -> bytes:
    return (json.dumps(value, indent=1, ensure_ascii=False) + "\n").encode()
