"""Every run the same: seeded random input, and one thread for linear algebra, as on the command line."""

import os

from hypothesis import settings

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
settings.register_profile("repeatable", derandomize=True, deadline=None)
settings.load_profile("repeatable")
