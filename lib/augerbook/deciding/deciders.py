"""Which uncertain input decides a result: shares of its variance after Sobol, by scipy.

The first-order share of an input is what would go if it alone were known; its total share is what would stay if all
others were. The difference comes from inputs that act together.

A few wild draws would have nearly all of a result's variance. So the shares are those of the rank, unless told
otherwise: which place a draw takes among all of them, from the best to the worst.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from augerbook.builds.build import Build
from augerbook.core.quantity import Quantity
from augerbook.core.spread import spread, strength
from augerbook.deciding.draws import sobol_places, triangle, uncertain_upstream
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
    more_is_better: bool = False,
    by_rank: bool = True,
    least: float = 0.0,
    power: int = 8,
    seed: int = 1,
    heard: Callable[[int, int], bool] = lambda _done, _of: True,
) -> list[Decider]:
    """Return the uncertain inputs that a result of the head at work depends on, the largest total share first.

    Takes 2 to the ``power`` times two more than the inputs heads. Where a head has no value (a plug that slips) it
    counts with the worst that there is: so that what makes it slip is not overlooked.

    Args:
        build: the build at hand, with the spreads of its inputs.
        result: what is asked about.
        more_is_better: which end of the result is the worst.
        by_rank: whether the shares are those of the rank or of the value itself.
        least: inputs that move the result alone by less than this share of the sum of squares stay at their values.
        power: the exponent of two that gives the draws; with 256 of them a share is good to some 0.03.
        seed: what the draws begin with.
        heard: called with heads done and heads in all; answering False stops.

    Raises:
        ValueError: nothing is uncertain, the result is the same everywhere, or it was stopped.
    """
    from scipy.stats import rankdata, sobol_indices  # slow to import, and only who asks for this needs it

    uncertain = _that_matter(build, result, least)
    if not uncertain:
        raise ValueError(f"{result.name_in_words} depends on nothing that has a spread in this build")
    fixed = {q: value for q, value in build.values.items() if q not in uncertain}
    count, inputs = 2**power, len(uncertain)
    both = sobol_places(2 * inputs, power, seed)
    one, other = both[:, :inputs], both[:, inputs:]
    places = np.tile(one, (inputs + 2, 1, 1))
    places[1] = other
    for i in range(inputs):
        places[i + 2, :, i] = other[:, i]
    triangles = [triangle(build.ends[q][0], build.values[q], build.ends[q][1]) for q in uncertain]
    columns = np.array([t.ppf(places[:, :, i].ravel()) for i, t in enumerate(triangles)])
    values = _through_the_head(build, result, uncertain, fixed, columns, heard)
    known = np.isfinite(values)
    if not known.any():
        raise ValueError(f"{result.name_in_words} has no value anywhere within the spreads")
    worst = values[known].min() if more_is_better else values[known].max()
    filled = np.where(known, values, worst)
    if by_rank:
        filled = rankdata(filled)
    if np.ptp(filled) == 0:
        raise ValueError(f"{result.name_in_words} is the same within all spreads: nothing decides it")
    if inputs == 1:
        return [Decider(uncertain[0], 1.0, 1.0)]  # all of it is this one's
    held = filled.reshape(inputs + 2, 1, count)
    shares = sobol_indices(func={"f_A": held[0], "f_B": held[1], "f_AB": held[2:]}, n=count)
    first, total = np.ravel(shares.first_order), np.ravel(shares.total_order)
    found = [Decider(q, float(f), float(t)) for q, f, t in zip(uncertain, first, total, strict=True)]
    return sorted(found, key=lambda decider: -strength(decider.total))


def _through_the_head(
    build: Build,
    result: Quantity,
    uncertain: Sequence[Quantity],
    fixed: Mapping[Any, Any],
    columns: Array,
    heard: Callable[[int, int], bool],
) -> Array:
    found: list[Array] = []
    in_all = columns.shape[1]
    for start in range(0, in_all, _AT_A_TIME):
        some = dict(zip(uncertain, columns[:, start : start + _AT_A_TIME], strict=True))
        piece = Piece(build.network, fixed, build.choices, some, (result,), ROUNDS, (0, start))
        found.append(work(piece).values[0])
        if not heard(min(start + _AT_A_TIME, in_all), in_all):
            raise ValueError("stopped before there was anything to tell")
    return np.concatenate(found)


def _that_matter(build: Build, result: Quantity, least: float) -> Sequence[Quantity]:
    """Return the uncertain inputs upstream of a result; large ones alone where asked."""
    found = uncertain_upstream(build, [result])
    if least <= 0 or result not in build.solution.values:
        return found
    alone = spread(build.network, result, build.values, build.ends, build.choices)
    large = {share.quantity for share in alone.shares if share.share >= least} | set(alone.lost)
    return [q for q in found if q in large]
