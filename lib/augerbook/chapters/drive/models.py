"""What weighed runs say: their mean, how far they differ, and how many are enough."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import special

#: The level of confidence of what a mean is given with, and how exact it should be.
CONFIDENCE, WANTED = 0.95, 0.01
#: More runs than these nobody weighs.
MOST_RUNS = 1000
#: What IEC 60028 prints for copper: the rise of its resistance for a kelvin, and the temperature it counts from (K).
COPPER = (0.00393, 293.15)


def copper() -> tuple[float, float]:
    """Return how copper's resistance rises (1/K), and the temperature from which that is counted (K)."""
    return COPPER


class Weighed(NamedTuple):
    """Number of runs, their mean in kg, and the standard deviation of a single one in kg."""

    runs: float
    mean: float
    spread: float


def weighed(columns: tuple[NDArray[np.float64], ...]) -> Weighed:
    """Return what a list of weighed runs says, in SI: masses in kg, shape (n,), n at least 2."""
    mass = np.asarray(columns[0], dtype=np.float64)
    return Weighed(float(len(mass)), float(mass.mean()), float(mass.std(ddof=1)))


def student_factor(freedom: ArrayLike, confidence: float = CONFIDENCE) -> NDArray[np.float64]:
    """Return Student's factor, a plain number, for so many degrees of freedom: both sides.

    Not defined at zero degrees or below.
    """
    degrees = np.asarray(freedom, dtype=np.float64)
    with np.errstate(all="ignore"):
        factor = special.stdtrit(degrees, 0.5 + confidence / 2)
    return np.where(degrees > 0, factor, np.nan)[()]


def runs_needed(spread: ArrayLike, mean: ArrayLike) -> NDArray[np.float64]:
    """Return the least number of runs whose mean lies within `WANTED` of the truth, for runs that differ like these.

    Args:
        spread, mean: standard deviation and mean of a run, in SI or any one unit.

    Infinite where more than `MOST_RUNS` would be needed; not defined where nothing came out.
    """
    shape = np.broadcast_shapes(np.shape(spread), np.shape(mean))
    counts = np.arange(2.0, MOST_RUNS + 1)
    reach = student_factor(counts - 1) / np.sqrt(counts)
    with np.errstate(all="ignore"):
        share = np.divide(spread, mean)
        # The reach falls with every run more: count those that do not suffice.
        short = np.searchsorted(-reach, -WANTED / np.ravel(share), side="left")
    needed = np.where(short < len(counts), counts[np.minimum(short, len(counts) - 1)], np.inf)
    return np.where(np.isfinite(np.ravel(share)), needed, np.nan).reshape(shape)[()]
