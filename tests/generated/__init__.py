"""Whole build files drawn with a seed: the circuit of an amplifier, and a chassis made to its measure."""
