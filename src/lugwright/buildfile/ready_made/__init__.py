"""Ready-made stages: one table, from the word after ``use`` to its maker and the duty it stands for."""

from collections.abc import Callable

from lugwright.buildfile.ready_made.amplifying import (
    cathode_follower,
    common_cathode,
    long_tailed_pair,
    split_load_inverter,
    three_knob_tone_stack,
)
from lugwright.buildfile.ready_made.maker import Maker
from lugwright.buildfile.ready_made.output import push_pull_output, single_ended_output
from lugwright.buildfile.ready_made.reverb import reverb_driver, reverb_recovery
from lugwright.buildfile.ready_made.supplies import bias_supply, heater_supply, mains, supply

READY_MADE: dict[str, tuple[Callable[[Maker], None], str]] = {
    "common cathode": (common_cathode, "gain"),
    "cathode follower": (cathode_follower, "gain"),
    "long-tailed pair": (long_tailed_pair, "inverter"),
    "split-load inverter": (split_load_inverter, "inverter"),
    "three-knob tone stack": (three_knob_tone_stack, "tone"),
    "single-ended output": (single_ended_output, "output"),
    "push-pull output": (push_pull_output, "output"),
    "supply": (supply, "supply"),
    "bias supply": (bias_supply, "bias"),
    "heater supply": (heater_supply, "heater"),
    "reverb driver": (reverb_driver, "reverb"),
    "reverb recovery": (reverb_recovery, "reverb"),
    "mains": (mains, "mains"),
}

__all__ = ["READY_MADE", "Maker"]
