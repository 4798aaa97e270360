"""What is in the book and in which order."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import pytest

from lugwright.bringup.results import JudgedReading, Reading, Step
from lugwright.circuit.operating import JointIdle
from lugwright.documents.book.blocks import (
    Block,
    Box,
    Card,
    Content,
    Figure,
    Heading,
    Items,
    Paragraph,
    Sheet,
    Table,
    cell_words,
)
from lugwright.documents.book.content import book_content
from lugwright.documents.book.records import BookRecords
from lugwright.documents.drawings.plate_curves import PlateChart
from lugwright.documents.drawings.svg import circle, document
from lugwright.errors import DocumentError

from .sample_records import CERTIFICATE, sample

ORDER = [
    "How to use this book", "The circuit, stage by stage", "Idle", "Tubes at idle", "Ratings and findings", "Parts",
    "Drill template", "Wiring side", "Strips and sockets, lug by lug", "Wire list", "Cut list", "Job cards",
    "Ohms chart", "Power-up charts", "Idle setting", "Log", "Unconfirmed figures",
]  # fmt: skip


def _blocks(content: Content, key: str) -> tuple[Block, ...]:
    return next(section.blocks for section in content.sections if section.key == key)


def _tables(blocks: tuple[Block, ...]) -> Iterator[Table]:
    for block in blocks:
        if isinstance(block, Table):
            yield block
        elif isinstance(block, Card):
            yield from _tables(block.blocks)


def test_sections_come_in_the_order_of_the_work() -> None:
    assert [section.title for section in book_content(sample(), "A4").sections] == ORDER


def test_what_there_is_no_record_of_is_left_out() -> None:
    bare = book_content(BookRecords(build=sample().build), "A4")
    assert [section.title for section in bare.sections] == ["How to use this book", "Parts", "Log"]


def test_cautions_name_every_way_to_die_before_anything_else() -> None:
    words = " ".join(f"{title} {text}" for title, text in book_content(sample(), "A4").cautions.entries)
    for needed in ("after the plug is out", "below 60 V", "One hand", "dummy load", "lamp limiter",
                   "Protective earth first", "Never alone, never tired", "licensed person"):  # fmt: skip
        assert needed in words


def test_pages_that_send_hands_into_the_chassis_carry_the_reminder() -> None:
    inside = {section.key for section in book_content(sample(), "A4").sections if section.hands_inside}
    assert inside == {"wiring", "lugs", "wires", "jobs", "ohms", "power-up", "idle-setting"}


def test_every_strip_and_socket_is_drawn_and_listed() -> None:
    blocks = _blocks(book_content(sample(), "A4"), "lugs")
    names = [block.name for block in blocks if isinstance(block, Figure)]
    assert names == ["strip-A", "strip-B", "strip-C", "strip-D", "socket-V1", "socket-V2", "socket-V3"]
    plan = sample().plan
    assert plan is not None
    listed = {row[0] for table in _tables(blocks) for row in table.rows}
    wanted = {t.label for t in plan.terminals.values() if t.kind in ("pin", "lug", "foot", "pot", "jack", "can")}
    said = " ".join(block.instead for block in blocks if isinstance(block, Figure))
    assert not [label for label in wanted - listed if f"{label} (" not in said and f"{label}:" not in said]


def test_every_lead_of_every_job_has_its_boxes() -> None:
    order = sample().work_order
    assert order is not None
    cards = [b for b in _blocks(book_content(sample(), "A4"), "jobs") if isinstance(b, Card)]
    assert [card.number for card in cards] == [job.number for job in order.jobs]
    for card, job in zip(cards, order.jobs, strict=True):
        (table,) = _tables(card.blocks)
        assert [column.title for column in table.columns[-3:]] == ["lead in", "soldered", "checked"]
        assert [row[0] for row in table.rows] == [lead.what for lead in job.leads]
        assert [row[-2] for row in table.rows] == [None if " now" in lead.solder else "–" for lead in job.leads]


def test_stop_conditions_stand_before_the_readings_of_their_step() -> None:
    blocks = _blocks(book_content(sample(), "A4"), "power-up")
    starts = [k for k, block in enumerate(blocks) if isinstance(block, Heading)]
    assert len(starts) == len(sample().steps)
    for start, end in zip(starts, [*starts[1:], len(blocks)], strict=True):
        kinds = [b.tone if isinstance(b, Box) else type(b).__name__ for b in blocks[start:end]]
        assert kinds.index("stop") < kinds.index("Table")


def test_wiring_side_keeps_the_paper_it_was_drawn_for() -> None:
    sheets = [b for b in _blocks(book_content(sample(), "Letter"), "wiring") if isinstance(b, Sheet)]
    assert [sheet.paper for sheet in sheets] == [sheet.paper for sheet in sample().wiring_sheets["Letter"]]
    drill = [b for b in _blocks(book_content(sample(), "Letter"), "drill") if isinstance(b, Sheet)]
    assert {sheet.paper for sheet in drill} == {"Letter"}
    assert len(drill) == len(sample().drill_sheets["Letter"])


def test_findings_come_worst_first() -> None:
    titles = [b.title for b in _blocks(book_content(sample(), "A4"), "ratings") if isinstance(b, Box)]
    assert titles == ["Fault: R3 too small (dense.toml:41)", "Doubt: long grid wire at V1"]


def _stage_words(readings: dict[str, JointIdle]) -> str:
    idle = sample().idle
    assert idle is not None
    changed = replace(sample(), idle=replace(idle, joints={**idle.joints, **readings}))
    (words,) = (b.text for b in _blocks(book_content(changed, "A4"), "circuit") if isinstance(b, Paragraph))
    return words.replace("\N{NO-BREAK SPACE}", " ")


def test_each_stage_states_the_volts_of_its_joints() -> None:
    assert "B+1 423.45 V ·" in _stage_words({})


def test_alternating_volts_are_never_told_as_their_mean() -> None:
    assert "B+1 308.92 V AC ·" in _stage_words({"B+1": JointIdle(-2.04, 308.92, 850.6)})
    assert "B+1 190.00 V and 210.00 V AC ·" in _stage_words({"B+1": JointIdle(190.0, 210.0, 600.0)})
    assert "B+1 408.34 V ·" in _stage_words({"B+1": JointIdle(408.34, 4.1, 13.6)})


def test_joints_on_the_mains_are_named_live_and_never_given_volts() -> None:
    wanted = ("line", "neutral", "x", "y")
    zero = {joint: JointIdle(0.0, 0.0, 0.0) for joint in wanted}
    words = _stage_words(zero)
    content = book_content(sample(), "A4")
    assert not [joint for joint in wanted if f" {joint} " in words]
    for key in ("circuit", "idle"):
        (box,) = (b for b in _blocks(content, key) if isinstance(b, Box))
        assert box.tone == "danger"
        assert set(box.title.removeprefix("On the mains: ").split(" · ")) == set(wanted)


def test_an_idle_without_a_passing_certificate_is_not_printed() -> None:
    idle = sample().idle
    assert idle is not None
    failed = replace(idle, certificate=replace(CERTIFICATE, passed=False))
    with pytest.raises(DocumentError) as error:
        book_content(replace(sample(), idle=failed), "A4")
    assert str(error.value) == (
        "no book of an idle that does not hold up\n"
        "  found:  B+1 is 2e-13 A out\n"
        "  wanted: less than 1e-11 A left over at that joint\n"
        "  do:     look at what meets at B+1, then make the book again"
    )


def test_an_unknown_paper_is_refused_in_words() -> None:
    with pytest.raises(DocumentError) as error:
        book_content(sample(), "A5")
    assert str(error.value) == (
        "no such paper\n  found:  'A5'\n  wanted: A4 or Letter\n  do:     choose one of these"
    )  # fmt: skip


def test_plate_curves_come_after_the_tubes_each_with_its_words() -> None:
    chart = PlateChart("V5_V6", document([circle((5.0, 5.0), 1.0)], box=(0.0, 0.0, 10.0, 10.0)), ("V5, V6: idle",))
    content = book_content(replace(sample(), plate_charts=(chart,)), "A4")
    titles = [section.title for section in content.sections]
    assert titles[titles.index("Tubes at idle") + 1] == "Plate curves and load lines"
    _, figure, words = _blocks(content, "plates")
    assert isinstance(figure, Figure)
    assert figure.caption == "Plate curves of V5, V6"
    assert isinstance(words, Items)
    assert words.entries == ("V5, V6: idle",)


def test_a_step_shows_lamp_window_limits_and_what_was_read() -> None:
    reading = Reading(
        "V3 pin 4 (screen)", "V3.screen", "V dc", 400.0, 390.0, 410.0, "V", stop_below=375.0,
        burns_below="R43 gets more than its 2 W",
    )  # fmt: skip
    step = Step(
        7, "All tubes", "through the 60 W lamp", (), (), (), (reading,), 0.3, "a dull red glow", "all tubes, lamp",
        (0.25, 0.36), ("Turned to 110 V it stands in for the lamp.",),
    )  # fmt: skip
    was = JudgedReading(
        "all tubes, lamp", "", reading.point, "V3.4", "ground", "V dc", 412.0, "V", 1.0, "412 V", "high"
    )
    records = replace(sample(), steps=(step,), taken={("all tubes, lamp", reading.point): was})
    blocks = _blocks(book_content(records, "A4"), "power-up")
    assert [b.text for b in blocks if isinstance(b, Paragraph)] == [
        "Mains: through the 60 W lamp. Current from the mains: 0.30 A, in good builds 0.25 to 0.36 A.",
        "Limiter lamp: a dull red glow.",
        "Variable transformer in place of the lamp: Turned to 110 V it stands in for the lamp.",
    ]
    (table,) = _tables(blocks)
    row = dict(zip([c.title for c in table.columns], table.rows[0], strict=True))
    assert (row["switch off"], row["was"], row["read"]) == ("under\u00a0375\u00a0V", "412 V high", None)


def test_small_volts_are_printed_in_millivolts() -> None:
    reading = Reading("V3 pin 8 (cathode)", "V3.cathode", "V dc", 0.0444, 0.0334, 0.0568, "V")
    step = replace(sample().steps[0], readings=(reading,))
    (table,) = _tables(_blocks(book_content(replace(sample(), steps=(step,)), "A4"), "power-up"))
    row = dict(zip([c.title for c in table.columns], table.rows[0], strict=True))
    words = [cell_words(column, row[column.title]) for column in table.columns if column.title in ("expected", "from")]
    assert words == ["44.4 mV", "33.4 mV"]


def test_steps_before_the_plug_come_before_the_ohms_and_these_by_section() -> None:
    bond = Reading("P1 earth pin to metal", "earth", "ohms", 0.0, 0.0, 0.1, "ohm")
    heater = Reading("V1 pin 4", "heater", "ohms to ground", 50.0, 48.0, 52.0, "ohm", section="heaters")
    plate = Reading("V1 pin 1", "V1a.plate", "ohms to ground", 1e5, 9e4, 1.1e5, "ohm", section="signal")
    steps = (
        Step(1, "Earth bond", "plug out", ("Zero the leads.",), ("More than 0.1 ohm.",), (), (bond,), 0.0, "", "earth"),
        Step(2, "Ohms chart", "plug out", (), ("B+ shorted.",), (), (heater, plate), 0.0, "", "ohms"),
    )
    content = book_content(replace(sample(), before_mains=steps), "A4")
    names = [section.key for section in content.sections]
    assert names.index("before-mains") + 1 == names.index("ohms") == names.index("power-up") - 1
    before, ohms = _blocks(content, "before-mains"), _blocks(content, "ohms")
    assert [b.text for b in before if isinstance(b, Paragraph)] == ["Mains: plug out."]
    assert [b.title for b in before if isinstance(b, Box)] == ["Go no further if"]
    assert [b.text for b in ohms if isinstance(b, Heading)] == ["Heaters", "Signal"]
    assert [table.rows[0][0] for table in _tables(ohms)] == ["V1 pin 4", "V1 pin 1"]
