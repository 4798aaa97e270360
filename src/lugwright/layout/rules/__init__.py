"""Layout rules: each one file, each one line in the table."""
