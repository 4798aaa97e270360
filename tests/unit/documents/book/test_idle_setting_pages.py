from __future__ import annotations

from dataclasses import replace

from lugwright.documents.book.blocks import Box, Heading, Items, Lines, Paragraph, Section, Table
from lugwright.documents.book.idle_setting_pages import idle_setting_pages
from lugwright.documents.book.idle_setting_tables import measured_table, reach_table, resistors_table, turns_table
from lugwright.findings import Finding, Grade

from .sample_idle import CATHODE_ADVICE, MEASURED, SETTING


def headings(section: Section) -> list[str]:
    return [block.text for block in section.blocks if isinstance(block, Heading)]


def test_as_computed_it_says_where_to_set_what_turns_do_and_leaves_lines_to_write_on() -> None:
    section = idle_setting_pages(SETTING)
    assert headings(section) == [
        "From the setting of the build file, to 60% of the plate limit",
        "What the control can do",
    ]
    (way,) = (block for block in section.blocks if isinstance(block, Items))
    assert way.entries == (
        "R49 Bias (V3): turn it clockwise by 0.3 hours on the clock (3% of its travel), until the meter reads 44.4 mV "
        "at V3.",
    )
    assert Paragraph("Set so, the mains 10 % high bring the hottest tube to 75%.") in section.blocks
    assert Box("note", "Where a shortcut misleads", (("", "Volts are no amperes."),)) in section.blocks
    assert isinstance(section.blocks[-1], Lines)
    assert isinstance(section.blocks[0], Box)
    assert section.blocks[0].tone == "danger"
    assert section.hands_inside


def test_what_was_measured_comes_first_and_there_is_one_aim_only() -> None:
    section = idle_setting_pages(SETTING, MEASURED)
    assert headings(section) == [
        "As measured, 2026-11-26 01:05 UTC", "From where it stands, to 60% of the plate limit", "As computed",
        "What the control can do",
    ]  # fmt: skip
    assert Paragraph("Read: V3 = 52.1 mV; V3 primary = 3.3 V.") in section.blocks
    assert Box(
        "note", "What the readings say",
        (("V3 idles colder than usual.", "Found: 9 W. Wanted: 50% to 70%. Do: turn it."),),
    ) in section.blocks  # fmt: skip
    assert (
        Paragraph(
            "V3: cathode current from volts over R41, screen current from the type's law, plate current from cathode "
            "current less the screen's; plate volts read to ground. V3 plate current by volts over T2 primary: 45.4 "
            "mA. V3 and V4 are 12% apart, good enough to play; 5.5 mA do not cancel in the output transformer. R49 "
            "Bias stands at about 77% of its travel."
        )
        in section.blocks
    )
    assert not any(isinstance(block, Lines) for block in section.blocks)


def test_readings_that_fit_nothing_stand_in_a_stop_box_and_the_computed_way_stays() -> None:
    fault = Finding("idle-no-current", Grade.FAULT, "V3 draws nothing", "0 mV", "about 40 mV", "look")
    bare = replace(MEASURED, tubes=(), others=(), match=None, advice=None, findings=(fault,))
    section = idle_setting_pages(SETTING, bare)
    box = next(block for block in section.blocks if isinstance(block, Box) and block.title == "What the readings say")
    assert box.tone == "stop"
    assert headings(section)[1:3] == ["As computed", "From the setting of the build file, to 60% of the plate limit"]


def test_an_aim_out_of_reach_and_a_control_that_is_right_are_told_so() -> None:
    assert SETTING.advice is not None
    (way,) = SETTING.advice.set_to
    for changed, words in (
        (replace(way, reached=False, wanted=1.0),
         "R49 Bias (V3): the aim is out of its reach; at 100% of its travel it reads 44.4 mV at V3."),
        (replace(way, words="leave it where it is"), "R49 Bias (V3): leave it where it is; it reads 44.4 mV at V3."),
    ):  # fmt: skip
        section = idle_setting_pages(replace(SETTING, advice=replace(SETTING.advice, set_to=(changed,))))
        assert Items((words,)) in section.blocks


def test_cathode_bias_has_its_resistors_in_place_of_turns() -> None:
    section = idle_setting_pages(replace(SETTING, advice=CATHODE_ADVICE, bias_range=(), reach=()))
    assert headings(section) == ["Another cathode resistor at R26 and R27"]
    table = resistors_table(CATHODE_ADVICE)
    assert [row[1] for row in table.rows] == ["now", "nearest the aim"]
    assert [row[4] for row in table.rows] == [81.0, 86.0]


def test_tables_hold_what_their_records_hold() -> None:
    assert measured_table(MEASURED).rows[0][:3] == ("V3", 52.1, 0.8)
    assert (
        measured_table(replace(MEASURED, tubes=(replace(MEASURED.tubes[0], read=False),))).rows[0][0] == "V3 (not read)"
    )
    assert SETTING.advice is not None
    (turn,) = turns_table(SETTING.advice).rows
    assert turn[:4] == ("R49 Bias (V3)", "one hour clockwise", 80.0, 405.0)
    assert reach_table(SETTING.reach).rows[1] == ("least negative", "weak", 90.0, None, None, None)
    for table in (measured_table(MEASURED), turns_table(SETTING.advice), reach_table(SETTING.reach)):
        assert isinstance(table, Table)
        assert all(len(row) == len(table.columns) for row in table.rows)
        titles = [(column.title, column.unit) for column in table.columns]
        assert all(title for title, _ in titles)
        assert len(set(titles)) == len(titles)
