"""What measurements leave of uncertain numbers, as draws: honest where results jump, bend or have two answers.

A crowd of draws of the prior is weighted by a small power of the likelihood, so small that half of the crowd still
counts; drawn anew by these weights; and moved, so that draws that were doubled part again. Then the power grows, until
it is one. No slope is taken, and what lies apart is found as long as some draw of the prior lies there.

Sources (from memory): Del Moral, Doucet, Jasra: Sequential Monte Carlo samplers, J. R. Stat. Soc. B 68 (2006),
pp. 411-436, for the crowd and its powers; Cotter, Roberts, Stuart, White: MCMC methods for functions, Statistical
Science 28 (2013), pp. 424-446, for moves that keep a bell curve.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Generator, Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import special
from scipy.linalg import solve_triangular
from scipy.optimize import brentq

from augerbook.deciding.draws import sobol_places

Array = NDArray[np.float64]

#: Share of the crowd that must still count when the power of the likelihood grows. The first crowd is chosen from 2 to
#: the ``_FIRST`` times as many draws: a heap that holds a tenth of the prior is then not founded by a few.
_KEPT, _FIRST = 0.5, 2
#: Share of the moves that shall be taken, and how far they go: at least, and at most (to a fresh place, as at first).
_TAKEN, _NEAR, _FRESH = 0.15, 0.05, 1.0
#: The crowd is moved at each power until every draw has, on the average, left its place behind so many times; at the
#: last power again and again, and what comes of that is kept. But never more often than so many moves.
_LEFT, _LEFT_AT_LAST, _MOST = 1.0, 2.5, 12
#: How much wider a bell curve is made than the crowd that it is taken of (in squares), and how wide it is at least.
_WIDER, _FLOOR = 1.15, 1e-6
#: Draws that are computed between two looks at what was clicked: most of a second for whole heads, which take a fifth
#: less each than in pieces half as large.
_AT_A_TIME = 512
#: How many powers are expected, and how many times each is taken to be the one before, as long as nothing is known.
_AT_FIRST, _GROWS = 4, 4.0


@dataclass(frozen=True)
class Posterior:
    """Draws of what is known after measuring.

    Attributes:
        draws: one row a draw, one column a number, in standard deviations of the prior, which is a standard bell curve.
        effective: how many draws from the posterior that have nothing to do with each other would tell as much, for
            the number that is worst off.
        log_evidence: logarithm of the mean likelihood over the prior.
        computed: for how many places the likelihood was computed.
    """

    draws: Array
    effective: float
    log_evidence: float
    computed: int


@dataclass(frozen=True)
class Step:
    """How far the work is.

    Attributes:
        done, of: pieces done, and pieces in all as far as can be seen: more of them where the likelihood is sharp.
        posterior: what came of it, in the last step alone. Before that no draw is from the posterior.
    """

    done: int
    of: int
    posterior: Posterior | None = None


def in_steps(
    log_likelihood: Callable[[Array], Array], dimensions: int, *, power: int = 9, seed: int = 1
) -> Iterator[Step]:
    """Draw from the posterior of numbers whose prior is a standard bell curve, and yield how far it is.

    The same seed gives the same draws. Whoever stops asking stops the work; nothing comes of it then.

    Args:
        log_likelihood: of places (one row each), up to a constant; minus infinity or NaN where none is possible.
        dimensions: how many numbers are uncertain.
        power: exponent of two of the draws in the crowd.
        seed: for the first draws and all that is left to chance.

    Raises:
        ValueError: nowhere in the first crowd could what was measured come about.
    """
    random = np.random.default_rng(seed)
    work = _Work(log_likelihood)
    crowd, moves = 2**power, _Moves(random)
    work.expect(2**_FIRST + _AT_FIRST * moves.needed(_LEFT) + moves.needed(_LEFT_AT_LAST), crowd)
    places = special.ndtri(sobol_places(dimensions, power + _FIRST, seed))
    logs = yield from work.at(places)
    if not np.isfinite(logs).any():
        raise ValueError("in none of the draws could what was measured come about")
    tempered, evidence = 0.0, 0.0
    while tempered < 1:
        before, tempered = tempered, _next(tempered, logs, crowd)
        weights = _weights(tempered - before, logs)
        # The greatest was taken out of the weights: it comes back here.
        evidence += math.log(weights.mean()) + (tempered - before) * logs.max()
        weights /= weights.sum()
        moves.bell = _Bell(places, weights)
        chosen = _systematic(weights, crowd, random)
        places, logs = places[chosen], logs[chosen]
        work.expect((_left(before, tempered) + 1) * moves.needed(_LEFT) + moves.needed(_LEFT_AT_LAST), crowd)
        places, logs, _ = yield from moves.made(_LEFT, places, logs, tempered, work)
    _, _, kept = yield from moves.made(_LEFT_AT_LAST, places, logs, tempered, work)
    drawn = np.array(kept)
    yield work.step(Posterior(np.concatenate(drawn), _effective(drawn), float(evidence), work.computed))


class _Work:
    """The likelihood in pieces, and how many of them there are."""

    def __init__(self, log_likelihood: Callable[[Array], Array]) -> None:
        self._log_likelihood = log_likelihood
        self.done = self.of = self.computed = 0

    def at(self, places: Array) -> Generator[Step, None, Array]:
        """Compute the likelihood piece by piece; minus infinity where it has no value."""
        found = []
        for start in range(0, len(places), _AT_A_TIME):
            found.append(self._log_likelihood(places[start : start + _AT_A_TIME]))
            self.done += 1
            yield self.step()
        self.computed += len(places)
        return np.nan_to_num(np.concatenate(found), nan=-np.inf, posinf=-np.inf, neginf=-np.inf)

    def expect(self, moves: int, draws: int) -> None:
        """Take it that the whole crowd will be moved so many times more."""
        self.of = self.done + moves * math.ceil(draws / _AT_A_TIME)

    def step(self, posterior: Posterior | None = None) -> Step:
        """Return how far the work is."""
        return Step(self.done, self.done if posterior else max(self.done, self.of), posterior)


class _Moves:
    """Moves of the whole crowd that leave its distribution as it is, as far as enough of them are taken."""

    def __init__(self, random: np.random.Generator) -> None:
        self.bell: _Bell
        self._random, self._reach, self._share = random, _FRESH, 0.5

    def needed(self, left: float) -> int:
        """Return about how many moves it takes until every draw has left its place so many times."""
        return min(math.ceil(left / (self._share * self._leaves)), _MOST)

    @property
    def _leaves(self) -> float:
        """How much of a place is left behind by a move that is taken."""
        return 1 - math.sqrt(1 - self._reach**2)

    def made(
        self, left: float, places: Array, logs: Array, tempered: float, work: _Work
    ) -> Generator[Step, None, tuple[Array, Array, list[Array]]]:
        """Move until places were left so many times; return places, their likelihoods, and the places of all moves."""
        kept: list[Array] = []
        while left > 0 and len(kept) < _MOST:
            proposed = self.bell.moved(places, self._reach, self._random)
            proposed_logs = yield from work.at(proposed)
            better = tempered * (proposed_logs - logs) + self.bell.over(proposed) - self.bell.over(places)
            taken = np.log(self._random.random(len(places))) < better
            places, logs = np.where(taken[:, None], proposed, places), np.where(taken, proposed_logs, logs)
            kept.append(places)
            self._share = max(float(taken.mean()), 1e-3)
            left -= self._share * self._leaves
            self._reach = float(np.clip(self._reach * math.exp(self._share - _TAKEN), _NEAR, _FRESH))
        return places, logs, kept


class _Bell:
    """The bell curve with mean and covariance of a weighted crowd, made a little wider than it is.

    Moves leave this curve as it is (preconditioned Crank-Nicolson): only by what the posterior differs from it are
    moves refused. From too narrow a curve a crowd seldom gets out to its edges.
    """

    def __init__(self, places: Array, weights: Array) -> None:
        self._mean = weights @ places
        apart = places - self._mean
        covariance = apart.T @ (apart * weights[:, None])
        self._root = np.linalg.cholesky(_WIDER * covariance + _FLOOR * np.eye(places.shape[1]))

    def moved(self, places: Array, reach: float, random: np.random.Generator) -> Array:
        """Return places so far from given ones: a reach of one forgets where they were."""
        fresh = random.standard_normal(places.shape) @ self._root.T
        return np.asarray(self._mean + math.sqrt(1 - reach**2) * (places - self._mean) + reach * fresh)

    def over(self, places: Array) -> Array:
        """Return the logarithm of the prior over this curve at places, up to a constant."""
        scores = solve_triangular(self._root, (places - self._mean).T, lower=True)
        return np.asarray(0.5 * ((scores**2).sum(axis=0) - (places**2).sum(axis=1)))


def _weights(power: float, logs: Array) -> Array:
    """Return how much each draw counts if the likelihood counts by so much more; the greatest is one."""
    possible = np.isfinite(logs)
    return np.where(possible, np.exp(power * (np.where(possible, logs, 0.0) - logs.max())), 0.0)


def _counting(weights: Array) -> float:
    """Return how many equal draws would tell as much (Kish)."""
    return float(weights.sum() ** 2 / (weights**2).sum())


def _next(tempered: float, logs: Array, crowd: int) -> float:
    """Return the next power of the likelihood: the highest at which enough of the draws still count."""
    enough = _KEPT * min(crowd, np.isfinite(logs).sum())

    def spare(power: float) -> float:
        return _counting(_weights(power - tempered, logs)) - enough

    return 1.0 if spare(1.0) >= 0 else float(brentq(spare, tempered, 1.0, xtol=1e-15, rtol=1e-9))


def _left(before: float, tempered: float) -> int:
    """Return how many more powers there will be if they go on growing as they did in the last step."""
    grows = max(tempered / before, 1.5) if before > 0 else _GROWS
    return math.ceil(-math.log(tempered) / math.log(grows) - 1e-9)


def _systematic(weights: Array, crowd: int, random: np.random.Generator) -> NDArray[np.intp]:
    """Return which draws make up the next crowd, each as often as its weight says, to within one."""
    edges = np.cumsum(weights)
    marks = (random.random() + np.arange(crowd)) / crowd * edges[-1]
    return np.searchsorted(edges, marks, side="right").clip(max=len(weights) - 1)


def _effective(drawn: Array) -> float:
    """Return how many draws without memory would tell as much, from how far each draw strayed (move by draw by number).

    Places of one draw that have nothing to do with each other have a mean that scatters less by their number.
    """
    all_of_it = drawn.var(axis=(0, 1))
    means = drawn.mean(axis=0).var(axis=0)
    return float(drawn.shape[1] * (all_of_it / means).min())
