"""Meters that a computer reads: files of their loggers, instruments on a bus."""
