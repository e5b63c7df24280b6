"""What all tests share."""

import os

# Small matrices gain nothing from threads, and two test processes would fight over the cores.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
