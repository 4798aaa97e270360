"""Every table of the book as CSV text: RFC 4180, one header row, units in the header."""

from __future__ import annotations

import csv
import io

from lugwright.bringup.results import IdleSetting
from lugwright.documents.book.blocks import Cell, Column, Quantity, Table
from lugwright.documents.book.chart_tables import bias_range_table, idle_rows_table, ohms_table, steps_table
from lugwright.documents.book.circuit_tables import (
    idle_table,
    mains_table,
    part_idle_table,
    parts_table,
    ratings_table,
    shopping_table,
    tubes_table,
    unconfirmed_table,
    windings_table,
)
from lugwright.documents.book.idle_setting_tables import measured_table, reach_table, resistors_table, turns_table
from lugwright.documents.book.power_tables import harmonic_table, limit_table, point_table
from lugwright.documents.book.record_pages import (
    as_built_table,
    fitted_table,
    jobs_done_table,
    notes_table,
    photos_table,
    readings_table,
    steps_done_table,
)
from lugwright.documents.book.records import BenchRecord, BookRecords
from lugwright.documents.book.response_tables import (
    curve_table,
    hiss_table,
    knob_table,
    margin_table,
    pole_table,
    stage_gain_table,
)
from lugwright.documents.book.spread_pages import chances_table, spread_table
from lugwright.documents.book.start_pages import fuse_table, start_table
from lugwright.documents.book.wiring_tables import (
    cut_table,
    heaters_table,
    holes_table,
    jobs_table,
    lugs_table,
    totals_table,
    wires_table,
)
from lugwright.solve.power_results import Power


def csv_text(table: Table) -> str:
    """Return a table as CSV; numbers are plain, a missing one is empty, over range is ``inf``."""
    shown = [(k, column) for k, column in enumerate(table.columns) if column.in_csv]
    sheet = io.StringIO(newline="")
    writer = csv.writer(sheet, lineterminator="\r\n")
    writer.writerow([_head(column) for _, column in shown])
    writer.writerows([_plain(row[k]) for k, _ in shown] for row in table.rows)
    return sheet.getvalue()


def all_tables(records: BookRecords) -> dict[str, str]:
    """Return file name and CSV text of every table there is something for."""
    tables = {
        **_circuit(records), **_response(records), **_power(records), **_wiring(records), **_charts(records),
        **_record(records.record),
    }  # fmt: skip
    return {f"{name}.csv": csv_text(table) for name, table in tables.items() if table.rows}


def _circuit(records: BookRecords) -> dict[str, Table]:
    build, idle = records.build, records.idle
    found = {"parts": parts_table(build), "shopping": shopping_table(build)}
    if idle is not None:
        found["idle"] = idle_table(idle)
        found["idle_parts"] = part_idle_table(build, idle)
        found["tubes"] = tubes_table(build, idle)
        found["windings"] = windings_table(idle)
        found["mains"] = mains_table(records.mains_rows)
    if records.start is not None:
        found["start"] = start_table(records.filter_rows)
        found["fuses"] = fuse_table(records.start)
    found["ratings"] = ratings_table(records.ratings)
    found["unconfirmed"] = unconfirmed_table(records.unconfirmed)
    return found


def _power(records: BookRecords) -> dict[str, Table]:
    if not isinstance(power := records.power, Power):
        return {}
    return {"power": point_table(power), "harmonics": harmonic_table(power), "headroom": limit_table(power)}


def _response(records: BookRecords) -> dict[str, Table]:
    if (response := records.response) is None:
        return {}
    margins = {} if response.loop is None else {"margins": margin_table(response.loop)}
    return {
        **margins,
        "response": curve_table(response),
        "stage_gains": stage_gain_table(response),
        "knobs": knob_table(response),
        "poles": pole_table(response.poles),
        "hiss": hiss_table(response),
    }


def _wiring(records: BookRecords) -> dict[str, Table]:
    found = {"holes": holes_table(records.holes)}
    if records.plan is not None:
        owners = tuple(dict.fromkeys(t.owner for t in records.plan.terminals.values()))
        found["lugs"] = lugs_table(records.build, records.plan, owners, records.work_order)
        found["wires"] = wires_table(records.plan, records.work_order)
        found["heaters"] = heaters_table(records.heaters)
    if records.work_order is not None:
        found["cut_list"] = cut_table(records.work_order)
        found["wire_totals"] = totals_table(records.work_order)
        found["jobs"] = jobs_table(records.work_order)
    return found


def _charts(records: BookRecords) -> dict[str, Table]:
    found = {"power_up": steps_table((*records.before_mains, *records.steps))}
    if records.spread is not None:
        found["spread"] = spread_table(records.spread.rows)
        found["spread_ratings"] = chances_table(records.spread.chances)
    if records.ohms_chart is not None:
        found["ohms"] = ohms_table(records.ohms_chart.readings)
    if records.idle_setting is not None:
        found["idle_setting"] = idle_rows_table(records.idle_setting)
        found["bias_range"] = bias_range_table(records.idle_setting)
        found |= _idle_advice(records.idle_setting)
    if records.idle_measured is not None:
        found["idle_measured"] = measured_table(records.idle_measured)
    return found


def _idle_advice(setting: IdleSetting) -> dict[str, Table]:
    found = {"bias_reach": reach_table(setting.reach)}
    if setting.advice is not None:
        found |= {"bias_turns": turns_table(setting.advice), "cathode_resistor": resistors_table(setting.advice)}
    return found


def _record(record: BenchRecord | None) -> dict[str, Table]:
    if record is None:
        return {}
    return {
        "record_jobs": jobs_done_table(record),
        "record_steps": steps_done_table(record),
        "record_as_built": as_built_table(record),
        "record_fitted": fitted_table(record),
        "record_readings": readings_table(list(record.readings), step=True),
        "record_notes": notes_table(record),
        "record_photos": photos_table(record),
    }


def _head(column: Column) -> str:
    return f"{column.title} [{column.unit}]" if column.unit else column.title


def _plain(cell: Cell) -> str:
    if cell is None:
        return ""
    if isinstance(cell, str):
        return cell
    return f"{cell.value if isinstance(cell, Quantity) else cell:.6g}"
