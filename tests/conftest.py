"""What all tests share."""

import os

from hypothesis import settings

# Small matrices gain nothing from threads, and two test processes would fight over the cores.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

# How long one example takes says more of the machine than of the code.
settings.register_profile("ordinary", deadline=None)
settings.load_profile("ordinary")
# `make endurance`: the tests that mutate files share this many of them.
settings.register_profile("endurance", deadline=None, max_examples=5_000)
