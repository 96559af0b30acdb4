"""What weighed runs say: their mean, how far they differ, and how many are enough."""

from __future__ import annotations

from typing import Any, NamedTuple

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


def freedom_of(runs: Any, whole: Any, share: Any) -> Any:
    """Return the degrees of freedom of a setting by Welch and Satterthwaite, in symbols or as plain numbers.

    Only what scatters from run to run is badly known; what all runs share counts as known for certain.

    Args:
        runs: how many.
        whole: relative standard uncertainty of the setting.
        share: relative standard deviation of a run.
    """
    return (runs - 1) * runs**2 * (whole / share) ** 4


class SettingRuns(NamedTuple):
    """How many runs make a setting sure to `WANTED`, and the bounds that are left after endlessly many; shares."""

    runs: NDArray[np.float64]
    least_bounds: NDArray[np.float64]


def setting_runs(spread: ArrayLike, mean: ArrayLike, floor: ArrayLike) -> SettingRuns:
    """Return the least number of runs that make a setting sure to `WANTED`, if they differ like these.

    Args:
        spread, mean: standard deviation and mean of a run, in SI or any one unit.
        floor: relative standard uncertainty that is the same in all runs, and that no number of them takes away.

    The number is infinite where the floor alone is too much, or where more than `MOST_RUNS` would be needed; not
    defined where nothing came out.
    """
    with np.errstate(all="ignore"):
        share, kept = np.broadcast_arrays(np.abs(np.divide(spread, mean)), np.asarray(floor, dtype=np.float64))

        def suffices(runs: NDArray[np.float64]) -> NDArray[np.bool_]:
            whole = np.sqrt(share**2 / runs + kept**2)
            freedom = np.where(share > 0, freedom_of(runs, whole, share), np.inf)
            enough: NDArray[np.bool_] = student_factor(freedom) * whole <= WANTED
            return enough

        # Each run more makes the bounds smaller: halve the numbers that may be the first to suffice.
        too_few, enough = np.ones(share.shape), np.full(share.shape, MOST_RUNS + 1.0)
        while (enough - too_few > 1).any():
            # Where the number is found it is tried again and stays, while others are still sought.
            middle = np.where(enough - too_few > 1, np.floor((too_few + enough) / 2), enough)
            does = suffices(middle)
            too_few, enough = np.where(does, too_few, middle), np.where(does, middle, enough)
    runs = np.where(enough > MOST_RUNS, np.inf, enough)
    runs = np.where(np.isfinite(share) & np.isfinite(kept), runs, np.nan)[()]
    return SettingRuns(runs, np.multiply(student_factor(np.inf), kept)[()])
