"""What small signals tell of a small amplifier, made up by hand."""

from __future__ import annotations

from dataclasses import replace

from lugwright.solve.response_results import (
    AmplifierResponse,
    Hiss,
    HissSource,
    KnobEffect,
    LoopGain,
    Margin,
    Pole,
    Poles,
    ResponseCurve,
    StageGain,
)

HERTZ = (10.0, 100.0, 1000.0, 10e3, 100e3)
CURVE = ResponseCurve(
    setting="knobs as set", hertz=HERTZ, gain_db=(20.0, 30.0, 31.5, 30.5, 12.0),
    phase_deg=(90.0, 20.0, 0.0, -20.0, -90.0),
    input_ohm=(1e6, 1e6, 8e5, 2e5, 9e4), output_ohm=(9.0, 9.5, 10.6, 14.0, 30.0), gain_1khz_db=31.5,
    input_1khz_ohm=8e5, output_1khz_ohm=10.6, low_hz=42.0, high_hz=None,
)  # fmt: skip
LOUD = replace(CURVE, setting="Treble 1", gain_db=(20.0, 30.0, 33.5, 40.5, 22.0))
STAGES = (
    StageGain("V1a", "grid", "plate", -58.4, None, 21e3, 38.7e3, 0.0),
    StageGain("V1b", "grid", "cathode", 0.98, None, None, 615.0, None),
)
LOOP = LoopGain(
    ("R33",), "T2.speaker.3", "feedback", False, 6.2, HERTZ, (-20.0, 0.5, 1.5, 12.0, -10.0),
    (120.0, 20.0, 0.0, -40.0, -150.0), (Margin(5.1, gain_db=25.5), Margin(60e3, phase_deg=50.6)),
)  # fmt: skip
POLE = Pole(68.8e3, -59e3, 0.14, ("V6.plate", "V4b.plate"), 1e-14)
POLES = Poles(57, (POLE, Pole(12.8, -23.5, 0.28, ("B+2",), 1e-15)))
HISS = Hiss(
    "LS1", 20.0, 20e3, 1.78e-3, 1.60e-3, 69e-9, 40.0, 80.05, HERTZ, (1e-5,) * 5,
    (HissSource("R10", "resistance", 1.4e-3, 0.62), HissSource("V1a", "plate current", 1.1e-3, 0.38)),
)  # fmt: skip
KNOB = KnobEffect("R7", "Treble", (replace(CURVE, setting="Treble 0"), LOUD), 10.0, 10e3, True)
VOLUME = KnobEffect("R10", "Volume", (CURVE, CURVE), 98.6, 2.6e3, False)
RESPONSE = AmplifierResponse(
    "J1.tip", "LS1", (CURVE,), (KNOB, VOLUME), STAGES, LOOP, POLES, (), HISS, "nothing plugged in"
)  # fmt: skip
