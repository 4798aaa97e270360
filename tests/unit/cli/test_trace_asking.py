"""What is asked next after something was passed over, and what yes means to a look."""

from __future__ import annotations

from types import SimpleNamespace

import click
from click.testing import CliRunner

from lugwright.bringup.trace_results import NextWords, OutcomeWords, Tracing
from lugwright.cli.trace_asking import asked

LOOK = NextWords(
    "all tubes", "mains on", "look whether the heater of V2 stays dark", "heater dark V2", "", "sign", 0.8, 5.0,
    "hands off", (OutcomeWords(0.5, None, "yes", ("its heater is open",), 0),),
)  # fmt: skip
PLATE = NextWords(
    "all tubes", "mains on", "V1 pin 1 to ground", "V1.1", "ground", "V dc", 0.7, 30.0, "one hand",
    (OutcomeWords(None, 100.0, "under 100 V", ("R3 is open",), 0),),
)  # fmt: skip
FOUND = Tracing("open", "Not clear yet.", "", 0.6, 0.1, (), (), (LOOK, PLATE), (), 0, (), 600)


def test_after_a_skip_the_other_reading_is_printed_and_asked_for() -> None:
    bench = SimpleNamespace(tracing=lambda **wished: FOUND, work_ahead=lambda: iter(()))
    command = click.Command("ask", callback=lambda: asked(bench, FOUND, ""))  # type: ignore[arg-type]
    output = CliRunner().invoke(command, input="skip\nstop\n").output
    before, _, after = output.partition("heater dark V2, yes or no (look whether the heater of V2 stays dark): skip\n")
    assert "Next: look whether the heater of V2 stays dark (mains on)" in before
    assert after.startswith("Measure next: V1 pin 1 to ground, V dc (mains on)")
    assert "look whether" not in after
    assert "\nV1 pin 1 to ground, V dc: stop\n" in after
