"""From the circuit of a hand-wired tube amplifier to a wired, checked, biased and documented chassis."""

__version__ = "0.1.0"
