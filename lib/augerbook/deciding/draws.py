"""Draws of what is uncertain, the same for every candidate: two screws are compared on the same grains.

What is not known exactly is drawn from a triangle over its spread, all of it together, by a scrambled Sobol sequence:
its points fill the space more evenly than random ones, so that fewer are needed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.stats import qmc

from augerbook.builds.build import Build
from augerbook.core.quantity import Quantity

Array = NDArray[np.float64]

#: Exponents of two that make sense: 16 draws tell next to nothing, 65 536 differ from 32 768 by less than is shown.
LEAST_POWER, MOST_POWER = 4, 16


@dataclass(frozen=True)
class Draws:
    """Places within the spreads of some inputs, drawn once and used for every candidate.

    Attributes:
        uncertain: the inputs that were drawn, in the order of the columns.
        places: one row a draw, one column an input, between 0 (the low end) and 1 (the high end) as quantiles.
        seed: what the sequence was begun with; the same seed gives the same draws.
    """

    uncertain: tuple[Quantity, ...]
    places: Array
    seed: int

    def __len__(self) -> int:
        return len(self.places)

    def of(self, build: Build, rows: slice = slice(None)) -> dict[Quantity, Array]:
        """Return the drawn SI values of a build's uncertain inputs; those without a spread in it stay out."""
        found = {}
        for quantity, column in zip(self.uncertain, self.places.T, strict=True):
            if quantity in build.ends:
                low, high = build.ends[quantity]
                found[quantity] = triangular(column[rows], low, build.values[quantity], high)
        return found


def draws(builds: Sequence[Build], *, power: int = 9, seed: int = 1) -> Draws:
    """Draw 2 to the ``power`` places for all inputs that are uncertain in any of the builds.

    Raises:
        ValueError: nothing is uncertain, or the power makes no sense.
    """
    if not LEAST_POWER <= power <= MOST_POWER:
        raise ValueError(f"2 to the power {power} draws: take a power of {LEAST_POWER} to {MOST_POWER}")
    uncertain = tuple(dict.fromkeys(q for build in builds for q, (low, high) in build.ends.items() if low < high))
    if not uncertain:
        raise ValueError("no value has a spread, so that nothing can be drawn: give low and high where you are unsure")
    sequence = qmc.Sobol(len(uncertain), scramble=True, rng=np.random.default_rng(seed))
    return Draws(uncertain, np.asarray(sequence.random_base2(power), dtype=np.float64), seed)


def triangular(places: ArrayLike, low: float, mode: float, high: float) -> Array:
    """Return the quantiles of a triangle: where its distribution function reaches ``places``, 0 to 1."""
    share = np.asarray(places, dtype=np.float64)
    width = high - low
    if width <= 0:
        return np.full(share.shape, mode)
    turn = (mode - low) / width
    rising = low + np.sqrt(share * width * (mode - low))
    falling = high - np.sqrt((1 - share) * width * (high - mode))
    result: Array = np.where(share < turn, rising, falling)
    return result
