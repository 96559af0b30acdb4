"""How fast as many candidates as may be tried at once are ranked, and their front found, beside going row by row.

    python tests/bench/ranking.py [--candidates 2000]

Both ways on the same candidates in one run; and how the time grows from half of the most candidates to all of them.
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Callable
from typing import Any

import numpy as np
from augerbook.deciding.candidates import MOST_CANDIDATES
from augerbook.deciding.draws import LEAST_POWER
from augerbook.deciding.ranking import COVERED, ranked, unbeaten
from numpy.typing import NDArray
from scipy import stats

#: The front, and the order of the candidates.
Judged = tuple[NDArray[np.bool_], list[int]]


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--candidates", type=int, default=2000)
    asked = parser.parse_args()

    worths, held = _invented(asked.candidates)
    fast, (best, order) = _timed(_judged, worths, held)
    slow, (best_by_row, order_by_row) = _timed(_row_by_row, worths, held)
    np.testing.assert_array_equal(best, best_by_row)
    assert order == order_by_row
    print(f"{asked.candidates} candidates: row by row takes {slow / fast:.0f} times as long")

    took = []
    for count in (MOST_CANDIDATES // 2, MOST_CANDIDATES):
        took.append(_timed(_judged, *_invented(count))[0])
    print(f"{MOST_CANDIDATES} candidates: {took[1]:.2f} s, {took[1] / took[0]:.1f} times as long as half of them")


def _invented(count: int) -> tuple[NDArray[np.float64], NDArray[np.bool_]]:
    random = np.random.default_rng(1)
    return random.normal(size=(count, 2)), random.random((count, 2**LEAST_POWER)) < 0.7


def _judged(worths: NDArray[np.float64], held: NDArray[np.bool_]) -> Judged:
    return unbeaten(worths), ranked(held, worths[:, 0])


def _row_by_row(worths: NDArray[np.float64], held: NDArray[np.bool_]) -> Judged:
    """Return front and order as their definitions say them, one candidate after another."""
    best = [not ((worths >= row).all(axis=1) & (worths > row).any(axis=1)).any() for row in worths]
    order: list[int] = []
    left = sorted(range(len(held)), key=lambda row: -held[row].sum())
    while left:
        ahead = (held[left[0]] & ~held[left]).sum(axis=1)
        behind = (held[left] & ~held[left[0]]).sum(axis=1)
        chance = 2 * stats.binom.cdf(np.minimum(ahead, behind), ahead + behind, 0.5)
        alike = [row for row, likely in zip(left, chance, strict=True) if likely > 1 - COVERED]
        order.append(min(alike, key=lambda row: (-worths[row, 0], -held[row].sum())))
        left.remove(order[-1])
    return np.array(best), order


def _timed(judge: Callable[..., Judged], *told: NDArray[Any]) -> tuple[float, Judged]:
    start = time.process_time()
    found = judge(*told)
    return time.process_time() - start, found


if __name__ == "__main__":
    main()
