"""Settings shared by all tests."""

import os

from hypothesis import settings

# Figures are drawn in memory. Kernels do not inherit this: refresh.kernel_environment takes it away.
os.environ.setdefault("MPLBACKEND", "Agg")

# Symbolic work is slow the first time: a deadline for each example would fail at random. Examples that failed
# are not kept between runs, so that a run depends on nothing but the sources.
settings.register_profile("handbook", deadline=None, database=None)
settings.load_profile("handbook")
