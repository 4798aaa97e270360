from __future__ import annotations

from lugwright.bringup.idle.logged import changed_since, last_read, logged_readings, noted_settings
from lugwright.bringup.idle.measured import Bench
from lugwright.findings import Grade
from lugwright.log.measured_bodies import ReadingBody, SettingBody, TubeFittedBody
from lugwright.log.state import Bench as Logged
from lugwright.log.state import FittedTube, Set, TakenReading

from .conftest import reader_of


def taken(red: str, value: float, *, black: str = "ground", step: str = "all tubes", minute: int = 1) -> TakenReading:
    body = ReadingBody(step=step, red=red, black=black, quantity="V dc", value=value, unit="V", digit=1e-4)
    return TakenReading("0" * 32, f"2026-11-26T01:{minute:02d}:00.000000Z", f"{red} to {black}", body)


def test_readings_of_the_step_in_which_the_idle_is_set_count(godwit_bench: Bench) -> None:
    log = Logged(
        readings=(
            taken("V5.8", 0.030), taken("V5.8", 0.0442, minute=5), taken("V6.8", 0.0411), taken("V5.3", 405.0),
            taken("V5.8", 0.012, step="all tubes, lamp", minute=9), taken("V1.3", 1.4), taken("V5.3", 2.9, black="B+1"),
        )
    )  # fmt: skip
    found = {(r.tube, r.what): r.value for r in logged_readings(reader_of(godwit_bench), log)}
    assert found == {("V5", "cathode"): 0.0442, ("V6", "cathode"): 0.0411, ("V5", "plate"): 405.0}
    assert last_read(log) == at(5)


def test_leads_the_other_way_round_are_turned(godwit_bench: Bench) -> None:
    log = Logged(readings=(taken("V5.3", -2.9, black="B+1"), taken("ground", -0.044, black="V6.8")))
    found = {(r.tube, r.what): r.value for r in logged_readings(reader_of(godwit_bench), log)}
    assert found == {("V5", "primary"): 2.9, ("V6", "cathode"): 0.044}


def test_volts_alone_are_no_idle_and_points_that_are_gone_are_passed_over(godwit_bench: Bench) -> None:
    reader = reader_of(godwit_bench)
    assert logged_readings(reader, Logged(readings=(taken("V5.3", 405.0),))) == ()
    assert logged_readings(reader, Logged(readings=(taken("V77.3", 405.0), taken("V5.8", 0.04)))) != ()
    assert logged_readings(reader, Logged()) == ()
    assert last_read(Logged()) == ""


def test_noted_settings_are_shares_of_the_rotation() -> None:
    bodies = {
        "R49": SettingBody(control="R49", position="70 %", share=0.7),
        "S1": SettingBody(control="S1", position="on"),
    }
    log = Logged(settings={name: Set("0" * 32, "2026-11-26T01:00:00.000000Z", body) for name, body in bodies.items()})
    assert noted_settings(log) == {"R49": 0.7}
    assert noted_settings(log, until="2026-11-25T23:00:00.000000Z") == {}


def test_a_tube_or_control_changed_after_the_reading_makes_it_doubtful() -> None:
    log = Logged(
        readings=(taken("V5.8", 0.044, minute=5), taken("V6.8", 0.041, minute=6)),
        tubes={
            "V5": fitted("V5", "6L6GC", "#12", minute=30), "V6": fitted("V6", "6L6GC", "#13", minute=2),
            "V1": fitted("V1", "12AX7", "", minute=40),
        },
        settings={"R49": Set("0" * 32, at(20), SettingBody(control="R49", position="65 %", share=0.65))},
    )  # fmt: skip
    (found,) = changed_since(log, {"V5", "V6", "R49"})
    assert (found.rule, found.grade, found.part, found.what, found.found, found.wanted, found.do) == (
        "idle-read-before-change", Grade.DOUBT, "R49", "something was changed after the idle was read",
        "R49 65 % (2026-11-26 01:20), V5 6L6GC #12 (2026-11-26 01:30)",
        "readings later than that; the first of these is of 2026-11-26 01:05",
        'read every cathode and plate again: lugwright read FILE --step "all tubes"',
    )  # fmt: skip
    assert list(changed_since(log, {"V6"})) == []
    assert list(changed_since(Logged(tubes=log.tubes), {"V5"})) == []


def at(minute: int) -> str:
    return f"2026-11-26T01:{minute:02d}:00.000000Z"


def fitted(socket: str, kind: str, label: str, *, minute: int) -> FittedTube:
    return FittedTube("0" * 32, at(minute), TubeFittedBody(socket=socket, type=kind, label=label))
