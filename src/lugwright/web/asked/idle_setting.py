"""How the idle of the output tubes is set: each tube in watts, what a turn of the control does."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import Field

from lugwright.bringup.results import IdleSetting
from lugwright.documents.book.chart_tables import bias_range_table, idle_rows_table
from lugwright.documents.book.idle_setting_tables import measured_table, resistors_table, turns_table
from lugwright.web.asked.asked import Args, Asked
from lugwright.web.desk import Desk
from lugwright.web.fragments import fragment
from lugwright.web.shown.idle import target_words, tube_words, way_words
from lugwright.web.shown.tables import TableWords, table_words
from lugwright.workflow import measured_idle, setting_for

IDLE_STEP = "all tubes"  # in which the idle is read


class IdleArgs(Args):
    """Where to idle: cool, middle, hot, or a share of the plate limit such as ``60%``."""

    target: Annotated[str, Field(min_length=1, max_length=20)] = "middle"


def _idle_setting(desk: Desk, args: IdleArgs) -> dict[str, Any]:
    opened = desk.opened
    desk.tell(0.0, "the idle setting")
    setting = setting_for(opened, args.target)
    if setting is None:
        return {"parts": {"power-idle": fragment("power/no_idle")}}
    measured = measured_idle(opened, (), args.target)
    advice = measured.advice if measured is not None else setting.advice
    html = fragment(
        "power/idle",
        step=IDLE_STEP,
        target=args.target,
        setting=setting,
        measured=measured,
        points=_points(setting),
        tubes=tube_words(measured) if measured is not None else [],
        aim=target_words(advice) if advice is not None else "",
        way=list(way_words(advice)) if advice is not None else [],
        misleading=advice.misleading if advice is not None else (),
        tables=_tables(setting, measured),
    )
    return {"parts": {"power-idle": html}}


def _points(setting: IdleSetting) -> list[tuple[str, str, str]]:
    """Return tube, where its idle is read, and the same as a reading is written down."""
    return [(row.tube, row.cathode_point, row.cathode_point.partition(", across")[0]) for row in setting.rows]


def _tables(setting: IdleSetting, measured: Any) -> list[tuple[str, TableWords]]:
    advice = measured.advice if measured is not None else setting.advice
    found = []
    if measured is not None and measured.tubes:
        found.append(("As read", table_words(measured_table(measured))))
    found.append(("As computed", table_words(idle_rows_table(setting))))
    if advice is not None and advice.turns:
        found.append(("What a turn does", table_words(turns_table(advice))))
    if advice is not None and advice.resistors:
        found.append(("Another cathode resistor", table_words(resistors_table(advice))))
    if setting.bias_range:
        found.append(("From stop to stop", table_words(bias_range_table(setting))))
    return found


IDLE_SETTING = Asked("idle setting", _idle_setting, IdleArgs)
