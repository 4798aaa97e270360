"""Functions over tables compiled once for this machine, and where the result is kept."""
