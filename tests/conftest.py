"""Settings shared by all tests."""

import os

import pytest
from hypothesis import HealthCheck, settings

from tests.handbook import quick_start  # noqa: F401

# Figures are drawn in memory. Kernels do not inherit this: refresh.kernel_environment takes it away.
os.environ.setdefault("MPLBACKEND", "Agg")

# Symbolic work is slow the first time and machines are busy: limits on time would fail at random. Examples that
# failed are not kept between runs, so that a run depends on nothing but the sources.
settings.register_profile("handbook", deadline=None, database=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("handbook")

TAKES_TIME = {"notebook", "browser", "bench", "slow"}


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    for item in items:
        if TAKES_TIME.isdisjoint(mark.name for mark in item.iter_markers()):
            item.add_marker(pytest.mark.fast)
