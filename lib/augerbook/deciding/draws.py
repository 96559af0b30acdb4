"""Draws of what is uncertain, the same for every candidate: two screws are compared on the same grains.

What is not known exactly is drawn from a triangle over its spread, all of it together, by a scrambled Sobol sequence:
its points fill the space more evenly than random ones, so that fewer are needed.
"""

from __future__ import annotations

from collections.abc import Sequence, Set
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from augerbook.builds.build import Build
from augerbook.core.quantity import Quantity, Series

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
        spread = {q: build.ends[q] for q in self.uncertain if q in build.ends and build.ends[q][0] < build.ends[q][1]}
        if not spread:
            return {}
        columns = [place for place, quantity in enumerate(self.uncertain) if quantity in spread]
        low, high = np.array(list(spread.values())).T
        # All of them in one call: to make a distribution takes scipy longer than to draw from it.
        drawn = triangle(low, np.array([build.values[q] for q in spread]), high).ppf(self.places[rows][:, columns])
        return dict(zip(spread, np.ascontiguousarray(drawn.T), strict=True))


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
    return Draws(uncertain, sobol_places(len(uncertain), power, seed), seed)


def sobol_places(inputs: int, power: int, seed: int) -> Array:
    """Return 2 to the ``power`` points of a scrambled Sobol sequence, one row each, between 0 and 1 in each input."""
    from scipy.stats import qmc  # a third of the time in which the start page is there, and it does not draw

    sequence = qmc.Sobol(inputs, scramble=True, rng=np.random.default_rng(seed))
    return np.asarray(sequence.random_base2(power), dtype=np.float64)


def uncertain_upstream(build: Build, results: Sequence[Quantity]) -> tuple[Quantity, ...]:
    """Return the inputs with a spread that results of a build depend on, by way of the circles too where they do."""
    circles = build.network.circles if rests_on_circles(build, results) else ()
    upstream = _upstream(build, [*results, *(circle.found for circle in circles)])
    return tuple(q for q, (low, high) in build.ends.items() if low < high and (q in upstream or q in results))


def rests_on_circles(build: Build, results: Sequence[Quantity]) -> bool:
    """Whether any of the results depends on what a circle assumes, so that the head must be brought to rest first."""
    assumed = build.network.assumed
    return not (assumed.isdisjoint(_upstream(build, results)) and assumed.isdisjoint(results))


def _upstream(build: Build, results: Sequence[Quantity]) -> Set[Quantity | Series]:
    known = [q for q in results if q in build.solution.values]
    return build.network.upstream(known, build.values, build.choices)


def triangle(low: Any, mode: Any, high: Any) -> Any:
    """Return the distribution of uncertain values (floats or arrays), as scipy has it: a triangle over its spread."""
    from scipy.stats import triang  # as above

    return triang((mode - low) / (high - low), loc=low, scale=high - low)
