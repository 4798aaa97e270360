"""The order of work: job cards and cut list."""
