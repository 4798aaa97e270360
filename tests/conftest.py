"""One thread for linear algebra, as on the command line: the matrices are small and tests run side by side."""

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
