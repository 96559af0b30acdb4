"""Draws of a posterior against answers that are known otherwise: in closed form, or integrated."""

import math
from collections.abc import Callable
from itertools import pairwise

import numpy as np
import pytest
from augerbook.deciding.posterior import Posterior, Step, in_steps
from numpy.typing import NDArray
from scipy.integrate import quad
from scipy.stats import norm

Array = NDArray[np.float64]
#: Five numbers measured as three sums of them, sharply, less sharply, and hardly at all.
SUMS = np.array([[1.0, 0.5, 0.0, 0.0, 0.0], [0.0, 1.0, -1.0, 0.5, 0.0], [0.3, 0.0, 0.0, 1.0, 0.0]])
SCATTER, SEEN = np.array([0.05, 0.3, 2.0]), np.array([0.8, -1.5, 0.4])


def sums_measured(places: Array) -> Array:
    """Logarithm of the likelihood of the three sums."""
    return np.asarray(-0.5 * (((places @ SUMS.T - SEEN) / SCATTER) ** 2).sum(axis=1))


def run(
    log_likelihood: Callable[[Array], Array],
    dimensions: int,
    *,
    seed: int = 1,
    heard: Callable[[int, int], bool] = lambda _done, _of: True,
) -> Posterior | None:
    """Go all steps; ``heard`` is told pieces done and in all, and answers False to stop, with nothing to show."""
    for step in in_steps(log_likelihood, dimensions, seed=seed):
        if step.posterior is not None:
            return step.posterior
        if not heard(step.done, step.of):
            break
    return None


def drawn(log_likelihood, dimensions: int, **asked) -> Posterior:
    found = run(log_likelihood, dimensions, **asked)
    assert found is not None
    return found


@pytest.mark.parametrize("seed", range(3))
def test_a_bell_curve_measured_by_sums(seed: int) -> None:
    """Conditioned bell curves are known exactly: mean, covariance and evidence."""
    between = np.diag(SCATTER**2) + SUMS @ SUMS.T
    gain = SUMS.T @ np.linalg.inv(between)
    mean, covariance = gain @ SEEN, np.eye(5) - gain @ SUMS
    found = drawn(sums_measured, 5, seed=seed)
    deviation = np.sqrt(covariance.diagonal())
    # Four times what so many draws are off by chance.
    near = 4 / math.sqrt(found.effective)
    assert found.effective > 300
    np.testing.assert_allclose((found.draws.mean(axis=0) - mean) / deviation, 0, atol=near)
    scale = np.outer(deviation, deviation)
    np.testing.assert_allclose((np.cov(found.draws.T) - covariance) / scale, 0, atol=1.5 * near)
    # Of the sum that was measured sharply next to nothing is left.
    assert (found.draws @ SUMS[0]).std() == pytest.approx(math.sqrt(SUMS[0] @ covariance @ SUMS[0]), rel=0.1)
    sharpness = -0.5 * math.log(np.linalg.det(between / np.outer(SCATTER, SCATTER)))
    evidence = sharpness - 0.5 * SEEN @ np.linalg.solve(between, SEEN)
    assert found.log_evidence == pytest.approx(evidence, abs=0.25)


def two_heaps(places: Array) -> Array:
    """What is measured is a square with a jump: from 0.6 on it is a half more, and beyond 2.2 there is nothing."""
    one = places[:, 0]
    result = np.where(one > 0.6, 1.5, 1.0) * one**2
    return np.where(one > 2.2, np.nan, -0.5 * ((result - 1.2) / 0.15) ** 2)


@pytest.mark.parametrize("seed", range(3))
def test_two_heaps_and_a_jump_are_weighed_as_they_are(seed: int) -> None:
    def mass(power: int, low: float, high: float) -> float:
        parts = [p for p in (low, -1.3, -0.9, 0.6, 1.1, high) if low <= p <= high]
        return sum(
            quad(lambda x: x**power * norm.pdf(x) * np.exp(two_heaps(np.array([[x]]))[0]), *ends, epsabs=1e-12)[0]
            for ends in pairwise(parts)
        )

    whole, left = mass(0, -6, 2.2), mass(0, -6, 0.6)
    found = drawn(two_heaps, 1, seed=seed)
    near = 4 / math.sqrt(found.effective)
    one = found.draws[:, 0]
    assert 0.3 < left / whole < 0.7, "else this test tells little"
    assert (one < 0).mean() == pytest.approx(left / whole, abs=0.5 * near)
    assert one.mean() == pytest.approx(mass(1, -6, 2.2) / whole, abs=near * one.std())
    assert one.std() == pytest.approx(math.sqrt(mass(2, -6, 2.2) / whole - (mass(1, -6, 2.2) / whole) ** 2), rel=near)
    assert (one <= 2.2).all()
    assert found.log_evidence == pytest.approx(math.log(whole), abs=0.15)
    for heap, ends in ((one[one < 0], (-6, 0)), (one[one > 0], (0, 2.2))):
        middle = mass(1, *ends) / mass(0, *ends)
        assert heap.mean() == pytest.approx(middle, abs=near * heap.std())
        assert heap.std() == pytest.approx(math.sqrt(mass(2, *ends) / mass(0, *ends) - middle**2), rel=1.5 * near)


def test_what_tells_nothing_leaves_the_prior() -> None:
    found = drawn(lambda places: np.zeros(len(places)), 3)
    np.testing.assert_allclose(found.draws.mean(axis=0), 0, atol=0.12)
    np.testing.assert_allclose(found.draws.std(axis=0), 1, atol=0.08)
    assert found.log_evidence == pytest.approx(0.0, abs=1e-12)


def test_the_same_seed_gives_the_same_draws_and_another_one_others() -> None:
    first, again, other = (drawn(sums_measured, 5, seed=seed) for seed in (1, 1, 2))
    np.testing.assert_array_equal(first.draws, again.draws)
    assert (first.effective, first.log_evidence) == (again.effective, again.log_evidence)
    assert not np.allclose(first.draws, other.draws)


def test_it_says_how_far_it_is_and_stops_when_told() -> None:
    computed: list[int] = []

    def counted(places: Array) -> Array:
        computed.append(len(places))
        return sums_measured(places)

    steps: list[Step] = list(in_steps(counted, 5))
    assert [step.done for step in steps[:-1]] == list(range(1, len(steps)))
    assert all(step.done <= step.of for step in steps) and steps[-1].done == steps[-1].of == len(computed)
    assert all(step.posterior is None for step in steps[:-1]) and steps[-1].posterior is not None
    assert steps[-1].posterior.computed == sum(computed) and max(computed) <= 512
    heard: list[tuple[int, int]] = []
    computed.clear()
    assert run(counted, 5, heard=lambda done, of: heard.append((done, of)) or done < 5) is None
    assert len(computed) == len(heard) == 5


def test_what_can_nowhere_come_about_is_refused() -> None:
    with pytest.raises(ValueError, match="in none of the draws"):
        run(lambda places: np.full(len(places), np.nan), 2)


def test_draws_without_a_value_count_for_nothing() -> None:
    """Three quarters of the prior are impossible: what is left is a quarter, in its own shape."""
    found = drawn(lambda places: np.where((places > 0).all(axis=1), 0.0, -np.inf), 2)
    assert (found.draws > 0).all() and found.log_evidence == pytest.approx(math.log(0.25), abs=0.01)
    np.testing.assert_allclose(found.draws.mean(axis=0), math.sqrt(2 / math.pi), atol=0.1)
