"""Reading and writing build files: TOML in, records out; solves nothing."""
