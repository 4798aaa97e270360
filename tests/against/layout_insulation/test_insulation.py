"""Creepage and clearance against the rows of the standards' tables."""

from __future__ import annotations

import pytest

from lugwright.layout.insulation import clearance_mm, creepage_mm


def test_every_row_of_the_tables(rows, tolerance):
    for row in rows:
        volts, wanted = float(row["volts"]), float(row["millimeters"])
        if row["what"] == "creepage":
            found = creepage_mm(working_v=volts, group=row["group"], pollution=int(row["pollution"]))
        else:
            found = clearance_mm(peak_v=volts, grade=row["group"])
        assert found == pytest.approx(wanted, abs=tolerance["value"]), row


def test_more_volts_never_need_less(rows):
    for group in sorted({row["group"] for row in rows if row["what"] == "creepage"}):
        distances = [creepage_mm(working_v=float(v), group=group) for v in range(0, 1200, 10)]
        assert distances == sorted(distances)
