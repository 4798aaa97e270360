"""The output power of a small amplifier, made up by hand."""

from __future__ import annotations

from dataclasses import replace

from lugwright.circuit.operating import Rating
from lugwright.solve.power_results import (
    DrivenTube,
    Intermodulation,
    NoPower,
    Power,
    PowerAtFrequency,
    PowerCertificate,
    PowerPoint,
    SpeakerWave,
    StageLimit,
)

CERTIFICATE = PowerCertificate(
    passed=True, left_over=2e-8, supply_gap=1e-6, power_in_w=20.0, power_out_w=20.000002, harmonics=32,
    halved_change=None, steps=7,
)  # fmt: skip
V1 = DrivenTube("V1a", 1e-3, 0.0, 0.0, 0.2, 0.0, 120.0, 240.0, 1.5e-3, 0.5e-3, -0.9, -1.9, 0.0)
V2 = DrivenTube("V2", 40e-3, 4e-3, 0.0, 8.0, 1.1, 60.0, 480.0, 90e-3, 2e-3, -1.0, -24.0, 0.1)
TAIL = (0.0,) * 17
POINT = PowerPoint(
    drive_rms_v=0.05, hertz=1000.0, watts=1.0, speaker_rms_v=2.83, distortion=0.03,
    harmonics=(1.0, 0.029, 0.008, *TAIL),
    b_plus_v={"B+1": 280.0, "B+2": 265.0}, rectifier_a={"CR1": 0.025, "CR2": 0.024}, supply_w=13.0,
    tubes={"V1a": V1, "V2": V2}, certificate=CERTIFICATE,
)  # fmt: skip
FINE = replace(CERTIFICATE, harmonics=64, halved_change=3e-4)
FIVE = replace(POINT, drive_rms_v=0.08, watts=2.2, distortion=0.05, certificate=FINE)
TEN = replace(POINT, drive_rms_v=0.115, watts=3.6, distortion=0.1, certificate=FINE)
HOT = replace(V2, screen_w=2.6, grid_high_v=0.4, knee=0.9)
FULL = replace(
    POINT, drive_rms_v=0.32, watts=4.9, distortion=0.34, harmonics=(1.0, 0.2, 0.22, *TAIL), certificate=FINE,
    b_plus_v={"B+1": 277.0, "B+2": 260.0}, tubes={"V1a": V1, "V2": HOT},
)  # fmt: skip
LIMIT = StageLimit("V2", "bottoming", 0.13, 3.9)
POWER = Power(
    jack="J1", load="resistor", load_ohm=8.0, hertz=1000.0, idle_b_plus_v={"B+1": 281.0, "B+2": 266.0},
    points=(POINT, FULL), five_percent=FIVE, ten_percent=TEN, full_drive=FULL, first_limit=LIMIT, limits=(LIMIT,),
    waves=(SpeakerWave(0.115, (0.0, 2.5e-4, 5e-4, 7.5e-4), (0.0, 7.5, 0.1, -7.6)),),
    intermodulation=Intermodulation(1000.0, 1200.0, 0.04, 1.1, ((200.0, 0.02), (2200.0, 0.03)), 0.068, CERTIFICATE),
    over_frequency=(PowerAtFrequency(80.0, 1.5, 0.06), PowerAtFrequency(1000.0, 3.6, 0.115)), stopped_at="",
)  # fmt: skip
NO_POWER = NoPower("no output power is promised with the 6V6GT (V2)", "one full point only", "more rows", "measure it")
RATING = Rating("screen-watts-driven", "V2", "screen heat", 2.6, 2.0, "W", "sheet p1")
