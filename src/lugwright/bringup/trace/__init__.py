"""Which fault explains the readings, and what to measure next."""
