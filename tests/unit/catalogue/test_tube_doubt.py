"""What a type must have published before its law promises power."""

from __future__ import annotations

from lugwright.catalogue.tube_doubt import PublishedRow, power_doubt


def _row(confidence: str = "high", *, use: str = "fit", tied: bool = False, **figures: float) -> PublishedRow:
    return PublishedRow(use, confidence, tied, figures)


FULL = _row(plate_a=0.1, screen_a=0.005, gm_s=0.01)
LOW = _row(plate_a=0.03)
DRIVEN = _row(plate_a=0.1, power_w=50.0)


def test_three_sound_rows_suffice() -> None:
    assert power_doubt("pentode", [FULL, LOW], [DRIVEN], 0) is None


def test_a_triode_needs_no_row_at_full_drive() -> None:
    assert power_doubt("double triode", [_row(plate_a=0.001, gm_s=0.002), _row(plate_a=0.0005)], [], 0) is None


def test_everything_missing_is_named_at_once() -> None:
    assert power_doubt("beam tetrode", [], [], 0) == (
        "too few published rows: a full point and a low-current row and a row at full drive are missing"
    )


def test_rows_from_a_dim_memory_or_kept_for_checks_do_not_count() -> None:
    assert power_doubt("pentode", [FULL, _row("low", plate_a=0.03)], [DRIVEN], 0) == (
        "too few published rows: a low-current row is missing"
    )
    assert power_doubt("pentode", [FULL, LOW], [_row(use="check", power_w=50.0)], 0) == (
        "too few published rows: a row at full drive is missing"
    )


def test_a_triode_connected_row_is_no_full_point_of_a_pentode() -> None:
    assert power_doubt("pentode", [_row(tied=True, plate_a=0.1, screen_a=0.0, gm_s=0.01), LOW], [DRIVEN], 0) == (
        "too few published rows: a full point and a low-current row are missing"
    )


def test_a_rectifier_needs_an_operating_row() -> None:
    assert power_doubt("rectifier", [_row(plate_a=0.1)], [], 1) is None
    assert power_doubt("rectifier", [_row(plate_a=0.1)], [], 0) == (
        "too few published rows: an operating row with its first capacitor is missing"
    )
