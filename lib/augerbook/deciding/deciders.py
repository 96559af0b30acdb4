"""Which uncertain input decides a result: shares of its variance after Sobol, by scipy.

The first-order share of an input is what would go if it alone were known; its total share is what would stay if all
others were. The difference comes from inputs that act together.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.stats import sobol_indices

from augerbook.builds.build import Build
from augerbook.core.quantity import Quantity
from augerbook.deciding.draws import triangle
from augerbook.deciding.work import Piece, work
from augerbook.settle import ROUNDS

Array = NDArray[np.float64]

#: Heads put through at a time, so that progress shows.
_AT_A_TIME = 1024


@dataclass(frozen=True)
class Decider:
    """One input's shares of the variance of a result, 0 to 1 but for the noise of few draws."""

    quantity: Quantity
    first: float
    total: float


def deciders(
    build: Build,
    result: Quantity,
    *,
    power: int = 6,
    seed: int = 1,
    heard: Callable[[int, int], bool] = lambda _done, _of: True,
) -> list[Decider]:
    """Return the uncertain inputs that a result of the head at work depends on, the largest total share first.

    Takes 2 to the ``power`` times two more than the inputs heads. Where a head has no value (a plug that slips) it
    counts with the worst that the others have: so that what makes it slip is not overlooked.

    Args:
        heard: called with heads done and heads in all; answering False stops.

    Raises:
        ValueError: nothing is uncertain, the result is the same everywhere, or it was stopped.
    """
    uncertain = [q for q in _that_matter(build, result) if build.ends[q][0] < build.ends[q][1]]
    if not uncertain:
        raise ValueError(f"{result.name_in_words} depends on nothing that has a spread in this build")
    fixed = {q: value for q, value in build.values.items() if q not in uncertain}
    in_all, done = 2**power * (len(uncertain) + 2), 0

    def at(columns: Array) -> Array:
        nonlocal done
        found = []
        for start in range(0, columns.shape[1], _AT_A_TIME):
            some = dict(zip(uncertain, columns[:, start : start + _AT_A_TIME], strict=True))
            piece = Piece(build.network, fixed, build.choices, some, (result,), ROUNDS, (0, start))
            found.append(work(piece).values[0])
            done += found[-1].size
            if not heard(min(done, in_all), in_all):
                raise ValueError("stopped before there was anything to tell")
        return np.concatenate(found)

    def finite(columns: Array) -> Array:
        values = at(columns)
        known = np.isfinite(values)
        if not known.any():
            raise ValueError(f"{result.name_in_words} has no value anywhere within the spreads")
        return np.where(known, values, values[known].min())[None, :]

    triangles = [triangle(build.ends[q][0], build.values[q], build.ends[q][1]) for q in uncertain]
    shares = sobol_indices(func=finite, n=2**power, dists=triangles, rng=np.random.default_rng(seed))
    first, total = np.ravel(shares.first_order), np.ravel(shares.total_order)
    if not np.isfinite(total).all():
        raise ValueError(f"{result.name_in_words} is the same within all spreads: nothing decides it")
    found = [Decider(q, float(f), float(t)) for q, f, t in zip(uncertain, first, total, strict=True)]
    return sorted(found, key=lambda one: -one.total)


def _that_matter(build: Build, result: Quantity) -> Sequence[Quantity]:
    """Return the uncertain inputs upstream of a result, by way of the circles as well."""
    network, wanted = build.network, [result, *(circle.found for circle in build.network.circles)]
    known = [q for q in wanted if q in build.solution.values]
    upstream = {q for node in network.chain(known, build.values, build.choices) for q in node.needs(build.choices)}
    return [q for q in build.ends if q in upstream or q is result]
