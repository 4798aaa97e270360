"""An idle with advice and readings, and the record of a copy, as the book gets them."""

from __future__ import annotations

from lugwright.bringup.idle_results import (
    Advice,
    Figure,
    IdleMeasured,
    Match,
    OtherWay,
    ReachRow,
    ResistorRow,
    SetTo,
    Target,
    TubeAtIdle,
    TubeState,
    TurnRow,
)
from lugwright.bringup.results import AsBuiltRow, IdleRow, IdleSetting, JudgedReading
from lugwright.documents.book.records import BenchRecord, JobDone, StepDone
from lugwright.findings import Finding, Grade

STATE = TubeState("V3", -41.0, 0.0444, 42e-3, 405.0, 17.0, 0.57)
TARGET = Target("fixed bias, push-pull", 0.5, 0.7, 0.6, "50 to 70 percent")
ADVICE = Advice(
    TARGET,
    (SetTo("R49 Bias (V3)", 0.7, 0.73, True, "clockwise by 0.3 hours on the clock (3% of its travel)", (STATE,)),),
    (TurnRow("R49 Bias (V3)", "one hour clockwise", 0.8, 405.0, (STATE,)),), (), 0.75, ("Volts are no amperes.",),
)  # fmt: skip
CATHODE_ADVICE = Advice(
    TARGET, (), (),
    (
        ResistorRow(270.0, ("R26", "R27"), True, False, 10.2, 33.9e-3, 0.81, 0.38),
        ResistorRow(240.0, ("R26", "R27"), False, True, 9.7, 36.4e-3, 0.86, 0.39),
    ), 0.95, (),
)  # fmt: skip
SETTING = IdleSetting(
    "fixed bias", (IdleRow("V3", "R41, V3 pin 8", 32.0, 32e-3, 30e-3, 2e-3, 420.0, 12.6, 14.0, 0.9, 0.7, 0.97, 0.032),),
    (("R49", 0.5, -42.0, 30.1),), "60 to 70 %", ("Bias before output tubes.",), ADVICE,
    (
        ReachRow("most negative", "strong", 1.1, -56.5, 0.39, 460.0),
        ReachRow("least negative", "weak", 0.9, None, None, None),
    ),
)  # fmt: skip
MEASURED = IdleMeasured(
    ("V3 = 52.1 mV", "V3 primary = 3.3 V"),
    (
        TubeAtIdle(
            "V3", Figure(0.0521, 8e-4), "volts over R41", Figure(2.6e-3, 1.2e-3), "the type's law",
            Figure(0.0495, 1.5e-3), "cathode current less the screen's", Figure(401.0, 5.0), "read to ground",
            Figure(19.8, 0.6), 30.0, Figure(0.66, 0.02), 1.05, 5.0, 1.066, True, True,
        ),
    ),
    (OtherWay("V3", "volts over T2 primary", Figure(0.0454, 4.5e-3)),),
    Match(("V3", "V4"), (0.0495, 0.044), 0.117, 5.5e-3, "good enough to play"), 0.997, (("R49 Bias", 0.77),), ADVICE,
    (Finding("idle-off-target", Grade.NOTE, "V3 idles colder than usual", "9 W", "50% to 70%", "turn it"),),
    "2026-11-26 01:05",
)  # fmt: skip


def judged(point: str, shown: str, verdict: str, title: str = "step 15: Idle set (full mains)") -> JudgedReading:
    """Return one reading of the log."""
    return JudgedReading(
        "all tubes", title, point, "V3.8", "ground", "V dc", 0.05, "V", 1e-4, shown, verdict, 0.044, 0.02, 0.07,
        "20.0 mV to 70.0 mV", time="2026-11-26T01:05:00.000000Z",
    )  # fmt: skip


RECORD = BenchRecord(
    serial="2", file="dense.log.sqlite", entries=17, first="2026-11-20T19:00:00.000000Z",
    last="2026-11-26T01:05:00.000000Z", other_copies=("copy 1",), cards_in_all=12,
    jobs=(
        JobDone(1, "metalwork", "Drill, punch, deburr", "2026-11-20T19:00:00.000000Z"),
        JobDone(None, "wiring", "A card of an earlier plan", "2026-11-21T19:00:00.000000Z"),
    ),
    steps=(StepDone(1, "Look it over", "plug out", "2026-11-25T19:00:00.000000Z"),),
    as_built=(AsBuiltRow("R3", "98.7 kΩ", "100 kΩ 1 W", "", "0", "2026-11-22T10:00:00.000000Z"),),
    fitted=(
        AsBuiltRow("V3 tube", "6V6GT #12", "6V6GT", "", "1", "2026-11-23T10:00:00.000000Z"),
        AsBuiltRow("R49 setting", "70 %", "", "", "2", "2026-11-23T11:00:00.000000Z"),
    ),
    readings=(
        judged("V1 pin 1 (plate) to ground", "312 V dc", "ok", "step 7: Every tube out (full mains)"),
        judged("V3 pin 8 (cathode) to ground", "82.1 mV dc", "high"),
    ),
    notes=(("2026-11-24T10:00:00.000000Z", "", "Hums a little when cold"),),
    photos=(("2026-11-24T11:00:00.000000Z", "heaters.jpg", "heater chain before the bus"),),
)  # fmt: skip
