"""What was done and written down at the bench: one append-only file per build."""
