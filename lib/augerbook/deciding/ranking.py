"""What a study says: how likely each candidate holds, which of two is better, which are beaten by none."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy import special

from augerbook.core.margin import Margin
from augerbook.core.network import Network
from augerbook.core.quantity import Quantity
from augerbook.deciding.study import Study

Array = NDArray[np.float64]

#: Chance with which an interval covers what it estimates, in all that is said of draws.
COVERED = 0.95
#: Candidates below this chance to hold are not on the front.
LIKELY = 0.5


def margins_of_head(network: Network) -> list[Margin]:
    """Return the margins that a head is judged by: not those of the choice itself, nor of trials planned after it."""
    return [margin for subject in network.subjects if not subject.plans for margin in subject.margins]


@dataclass(frozen=True)
class Aim:
    """What shall be small, or large, beside holding all margins."""

    quantity: Quantity
    more_is_better: bool = False

    def worth(self, si: Array) -> Array:
        """Return values so that more is better."""
        return si if self.more_is_better else -si


@dataclass(frozen=True)
class Chance:
    """How often something came true in so many draws, and between which bounds its probability lies.

    The bounds are Wilson's for random draws: they stay within 0 and 1, and draws that fill the space evenly do better.
    """

    came_true: int
    draws: int

    @property
    def share(self) -> float:
        """Share of the draws; not defined without any."""
        return self.came_true / self.draws if self.draws else float("nan")

    @property
    def bounds(self) -> tuple[float, float]:
        """Low and high of the probability."""
        return _bounds(self.came_true, self.draws)

    def __str__(self) -> str:
        if not self.draws:
            return "no draws"
        low, high = self.bounds
        return f"{100 * self.share:.0f} % ({100 * low:.0f} to {100 * high:.0f} %)"


@lru_cache(maxsize=4096)  # a table of a thousand candidates says each of them many times
def _bounds(came_true: int, draws: int) -> tuple[float, float]:
    if not draws:
        return 0.0, 1.0
    from scipy.stats import binomtest  # slow to import, and the start page begins without

    interval = binomtest(came_true, draws).proportion_ci(COVERED, method="wilson")
    return float(interval.low), float(interval.high)


def chances(study: Study, margins: Sequence[Margin]) -> tuple[Chance, ...]:
    """Return for each candidate in how many draws it holds all margins; only draws that all have been through."""
    return _of_each(study, study.holds(margins))


def at_rest(study: Study) -> tuple[Chance, ...]:
    """Return for each candidate in how many draws it has an operating point that comes to rest."""
    return _of_each(study, study.at_rest)


def _of_each(study: Study, came_true: NDArray[np.bool_]) -> tuple[Chance, ...]:
    rows = zip(study.in_draws(came_true), study.begun, strict=True)
    return tuple(Chance(int(row.sum()), row.size if begun else 0) for row, begun in rows)


def weakest(study: Study, margins: Sequence[Margin], candidate: int) -> list[tuple[Margin, Chance]]:
    """Return the margins of one candidate that do not hold in every draw, the least likely first."""
    found = []
    for margin in margins:
        held = study.in_draws(study.within(margin, [candidate]))
        found.append((margin, Chance(int(held.sum()), held.size)))
    return sorted((pair for pair in found if pair[1].came_true < pair[1].draws), key=lambda pair: pair[1].share)


def out_of_reach(study: Study, margins: Sequence[Margin]) -> list[Margin]:
    """Return the margins that no candidate holds in any draw: what was varied does not reach them."""
    rows = np.flatnonzero(study.begun)
    if not study.counted.any():
        return []
    return [margin for margin in margins if not study.in_draws(study.within(margin))[rows].any()]


@dataclass(frozen=True)
class Compared:
    """Two candidates on the same draws.

    Attributes:
        alone, other_alone: draws in which only the first, or only the second, holds the margins.
        together: draws in which both hold.
        ahead, alike: of those, how many in which the first is better in the aim, and in which both are alike.
        difference: middle of the first less the second (SI) where both hold, with the bounds that nine of ten of these
            draws lie within.
    """

    alone: int
    other_alone: int
    together: int
    ahead: int
    alike: int
    difference: tuple[float, float, float]

    @property
    def better(self) -> Chance:
        """How often the first is better: it holds and the second does not, or both do and it is ahead in the aim.

        Draws in which neither holds count for neither, and those in which both are alike count against the first.
        """
        return Chance(self.alone + self.ahead, self.alone + self.other_alone + self.together)

    def __str__(self) -> str:
        if not self.better.draws:
            return "neither holds"
        words = f"holds alone in {self.alone}, the other in {self.other_alone}"
        if self.together:
            words += f"; of {self.together} with both better in {self.ahead}"
            words += f", alike in {self.alike}" if self.alike else ""
        return words


def compared(study: Study, first: int, second: int, aim: Aim, margins: Sequence[Margin] = ()) -> Compared:
    """Compare two candidates draw by draw: on the same grains, frictions and temperatures."""
    rows = [first, second]
    values = study.of(aim.quantity)[rows][:, study.counted]
    held = study.in_draws(study.holds(margins, rows)) & np.isfinite(values)
    one, other = aim.worth(values)
    both = held[0] & held[1]
    apart = (values[0] - values[1])[both]
    low, middle, high = np.quantile(apart, (0.05, 0.5, 0.95)).tolist() if apart.size else (np.nan,) * 3
    return Compared(
        alone=int((held[0] & ~both).sum()),
        other_alone=int((held[1] & ~both).sum()),
        together=int(both.sum()),
        ahead=int((one > other)[both].sum()),
        alike=int((one == other)[both].sum()),
        difference=(middle, low, high),
    )


def unbeaten(worths: Array) -> NDArray[np.bool_]:
    """Return which candidates no other one beats: as good in every aim and better in one (Pareto).

    Args:
        worths: candidate by aim, more is better; a candidate with a value missing is beaten.
    """
    found = np.zeros(len(worths), dtype=np.bool_)
    left = np.flatnonzero(np.isfinite(worths).all(axis=1))
    left = left[np.lexsort(-worths[left].T)]
    while left.size:
        # None that is left beats the first: what is above it in no aim is as good in all, or beaten by it.
        some, first = worths[left], worths[left[0]]
        found[left[(some == first).all(axis=1)]] = True
        left = left[(some > first).any(axis=1)]
    return found


def front(worths: Array, likely: Array, least: float = LIKELY) -> NDArray[np.bool_]:
    """Return which candidates are unbeaten among those likely enough to hold.

    Args:
        worths: candidate by aim, more is better.
        likely: probability of holding, one for each candidate; NaN where nothing is known of it.
        least: candidates below this probability are left out.
    """
    with np.errstate(invalid="ignore"):
        return unbeaten(np.where((likely >= least)[:, None], worths, np.nan))


def ranked(held: NDArray[np.bool_], worth: Array) -> list[int]:
    """Return the candidates in order: the most likely to hold first; among those alike, the better in the first aim.

    All have been through the same draws, so only those that one candidate holds and another does not tell them apart:
    were they alike, it would be as many one way as the other, and `COVERED` says how far that may be off (McNemar's
    exact test).

    Args:
        held: candidate by draw.
        worth: of each candidate in the first aim, more is better; NaN is worst.
    """
    counts = held.sum(axis=1)
    ones = held.astype(np.float32)  # counts of draws are exact in them, and multiplied they take a tenth of the time
    worth = np.nan_to_num(worth, nan=-np.inf)
    order: list[int] = []
    left = np.lexsort((np.arange(len(held)), -counts))
    while left.size:
        both = (ones[left] @ ones[left[0]]).astype(np.int64)
        ahead, behind = counts[left[0]] - both, counts[left] - both
        chance = 2 * special.bdtr(np.minimum(ahead, behind), ahead + behind, 0.5)
        alike = left[chance > 1 - COVERED]
        alike = alike[np.lexsort((-counts[alike], -worth[alike]))]
        # As long as the first is left it is held against the same ones: all up to it follow at once.
        taken = alike[: int(np.flatnonzero(alike == left[0])[0]) + 1]
        order += taken.tolist()
        left = left[~np.isin(left, taken)]
    return order
