"""Tables of small signals: curves, stages, knobs, poles, hiss."""

from __future__ import annotations

from lugwright.documents.book.blocks import Column, Quantity, Table
from lugwright.solve.response_results import AmplifierResponse, LoopGain, Poles

_HZ = Column("frequency", "Hz", "number", 1)


def summary_table(response: AmplifierResponse) -> Table:
    """Return gain, band and impedances of each setting."""
    columns = (
        Column("knobs", grow=1), Column("gain at 1 kHz", "dB", "number", 1), Column("3 dB down below", kind="quantity"),
        Column("3 dB down above", kind="quantity"), Column("input at 1 kHz", kind="quantity"),
        Column("output at 1 kHz", kind="quantity"),
    )  # fmt: skip
    return Table(
        columns,
        tuple(
            (c.setting, c.gain_1khz_db, _hertz(c.low_hz), _hertz(c.high_hz), Quantity(c.input_1khz_ohm, "ohm"),
             Quantity(c.output_1khz_ohm, "ohm"))
            for c in response.curves
        ),
    )  # fmt: skip


def _hertz(value: float | None) -> Quantity | None:
    return None if value is None else Quantity(value, "Hz")


def curve_table(response: AmplifierResponse) -> Table:
    """Return every point of every curve."""
    columns = (Column("knobs"), _HZ, Column("gain", "dB", "number", 2), Column("phase", "deg", "number", 1),
               Column("input", "ohm", "number", 0), Column("output", "ohm", "number", 2))  # fmt: skip
    rows = tuple(
        (c.setting, *point)
        for c in response.curves
        for point in zip(c.hertz, c.gain_db, c.phase_deg, c.input_ohm, c.output_ohm, strict=True)
    )
    return Table(columns, rows)


def stage_gain_table(response: AmplifierResponse) -> Table:
    """Return what each tube section makes of the signal it gets."""
    columns = (
        Column("tube"), Column("from"), Column("to"), Column("times", kind="number", digits=1),
        Column("3 dB down below", kind="quantity"), Column("3 dB down above", kind="quantity"),
        Column("output", kind="quantity"), Column("gets", "dB", "number", 1),
    )  # fmt: skip
    rows = tuple(
        (s.tube, s.driven_at, s.taken_at, s.gain, _hertz(s.low_hz), _hertz(s.high_hz), Quantity(s.output_ohm, "ohm"),
         s.level_db)
        for s in response.stages
    )  # fmt: skip
    return Table(columns, rows)


def knob_table(response: AmplifierResponse) -> Table:
    """Return what each knob changes from end to end."""
    columns = (Column("knob"), Column("part"), Column("turns", grow=1), Column("at most", "dB", "number", 1),
               Column("at", kind="quantity"))  # fmt: skip
    rows = tuple(
        (k.label, k.part, "tone" if k.shapes else "level", k.most_db, Quantity(k.at_hz, "Hz"))
        for k in response.knobs
        if abs(k.most_db) >= 0.1
    )
    return Table(columns, rows)


def margin_table(loop: LoopGain) -> Table:
    """Return where the loop's gain is 1 and where its phase has turned, with what is left."""
    columns = (Column("at", kind="quantity"), Column("phase left", "deg", "number", 0),
               Column("gain left", "dB", "number", 1))  # fmt: skip
    return Table(columns, tuple((Quantity(m.hertz, "Hz"), m.phase_deg, m.gain_db) for m in loop.margins))


def pole_table(poles: Poles, *, most: int | None = None) -> Table:
    """Return the least damped swings first."""
    columns = (
        Column("swings at", kind="quantity"), Column("damping", kind="number", digits=2),
        Column("grows", "1/s", "number", 1, in_book=False), Column("2.7-fold in", kind="quantity", in_csv=False),
        Column("most of it at", grow=1),
    )  # fmt: skip
    rows = tuple(
        (Quantity(p.hertz, "Hz"), p.damping, p.growth_per_s,
         Quantity(1.0 / abs(p.growth_per_s), "s", "grows " if p.growth_per_s > 0.0 else "fades "), ", ".join(p.joints))
        for p in poles.poles[:most]
    )  # fmt: skip
    return Table(columns, rows)


def hiss_table(response: AmplifierResponse, *, least_share: float = 0.0) -> Table:
    """Return what hisses, the loudest first."""
    columns = (Column("part"), Column("by", grow=1), Column("at the output", "uV", "number", 1),
               Column("share", "%", "number", 1))  # fmt: skip
    rows = tuple(
        (s.part, s.what, s.volts * 1e6, 100.0 * s.share) for s in response.hiss.sources if s.share >= least_share
    )
    return Table(columns, rows)
