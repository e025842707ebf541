"""For all tests: one thread per worker, since pytest-xdist already runs a worker on every core, and no test is timed."""

import os

from hypothesis import settings

for variable in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(variable, "1")

# a busy machine would fail what is right
settings.register_profile("untimed", deadline=None)
settings.load_profile("untimed")
