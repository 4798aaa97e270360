"""Solvers: idle, ripple, power-off ohms; every answer carries its certificate."""
