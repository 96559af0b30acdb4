"""Going round circles: against the root found by other means, one head and many, and where there is no rest."""

import numpy as np
import pytest
from augerbook.core.fixed_point import AT_REST, fixed_point
from augerbook.core.network import Network, NetworkError
from augerbook.core.quantity import Quantity
from augerbook.core.sources import Source
from scipy.optimize import brentq
from sympy import cos

from tests.core.toy import Toy, network_of


def oven(gain: float) -> tuple[Network, Quantity, Quantity, Quantity]:
    """A cosine of what is assumed, times a factor: at rest where x = a cos(x), for which there is no closed form."""
    toy = Toy("oven")
    assumed = toy.given("assumed", "x", "1", "what is assumed", 0, 1)
    factor = toy.given("factor", "a", "1", "a factor", 0.1, 10)
    found = toy.result("found", "y", "1", "what is found")
    toy.relation("found", found, gain * factor * cos(assumed), "A cosine", source=Source("definition"))
    toy.circle(assumed, found)
    return network_of(toy), assumed, factor, found


def test_it_comes_to_rest_where_the_root_is() -> None:
    network, assumed, factor, _ = oven(1.0)
    point = fixed_point(network, {assumed: 0.5, factor: 0.7}, {}, rounds=60)
    assert point.values[assumed] == pytest.approx(brentq(lambda x: x - 0.7 * np.cos(x), 0, 1), rel=1e-9)
    assert point.at_rest.all() and point.in_words() == ""


def test_a_thousand_heads_are_as_one_by_one() -> None:
    network, assumed, factor, _ = oven(1.0)
    factors = np.linspace(0.1, 0.9, 1000)
    point = fixed_point(network, {assumed: 0.5}, {}, rounds=9, vary={factor: factors})
    for place in (0, 417, 999):
        alone = fixed_point(network, {assumed: 0.5, factor: factors[place]}, {}, rounds=9)
        assert point.values[assumed][place] == pytest.approx(alone.values[assumed][0], rel=1e-12)
        assert point.residuals[assumed][place] == pytest.approx(alone.residuals[assumed][0], rel=1e-6, abs=1e-12)
    rests = np.abs([brentq(lambda x, a=a: x - a * np.cos(x), 0, 1) for a in factors] / point.values[assumed] - 1) < 1e-3
    assert (point.at_rest == rests).mean() > 0.95


def test_what_does_not_come_to_rest_says_so() -> None:
    network, assumed, factor, _ = oven(1.0)
    point = fixed_point(network, {assumed: 0.5, factor: 0.9}, {}, rounds=2)
    assert not point.at_rest.any() and point.residuals[assumed][0] > AT_REST
    assert "after 2 rounds the assumed found still differs by" in point.in_words()


def test_where_nothing_is_found_the_assumption_stays_and_it_says_so() -> None:
    network, assumed, factor, _ = oven(float("nan"))
    point = fixed_point(network, {assumed: 0.5, factor: 0.7}, {}, rounds=5)
    assert point.values[assumed] == [0.5] and point.residuals[assumed] == [np.inf]
    assert point.in_words() == "no assumed was found that could be assumed"


def test_a_value_beyond_its_range_is_taken_at_the_end() -> None:
    network, assumed, factor, _ = oven(9.0)
    point = fixed_point(network, {assumed: 0.5, factor: 1.0}, {}, rounds=5)
    assert 0 <= point.values[assumed][0] <= 1 and not point.at_rest.any()


def test_what_lacks_is_named() -> None:
    network, assumed, factor, _ = oven(1.0)
    with pytest.raises(NetworkError, match="found needs factor"):
        fixed_point(network, {assumed: 0.5}, {}, rounds=5)
    with pytest.raises(NetworkError, match="nothing is assumed for the assumed"):
        fixed_point(network, {factor: 0.7}, {}, rounds=5)
    varied = fixed_point(network, {factor: 0.7}, {}, rounds=5, vary={assumed: np.array([0.2, 0.5])})
    assert varied.values[assumed].shape == (2,)


def test_only_an_input_can_be_assumed_and_units_must_fit() -> None:
    toy = Toy("units")
    length = toy.given("length", "l", "mm", "a length", 1, 2)
    result = toy.result("result", "r", "mm", "a result")
    weight = toy.result("weight", "w", "N", "a weight")
    for assumed, found in ((result, result), (length, weight)):
        with pytest.raises(ValueError, match="cannot stand for each other"):
            toy.circle(assumed, found)


def test_what_hangs_on_nothing_assumed_is_computed_once() -> None:
    toy = Toy("mill")
    assumed = toy.given("assumed", "x", "1", "what is assumed", 0, 1)
    factor = toy.given("factor", "a", "1", "a factor", 0.1, 10)
    beside, found = toy.result("beside", "b", "1", "a square"), toy.result("found", "y", "1", "what is found")
    calls: list[int] = []

    def square(value: np.ndarray) -> np.ndarray:
        calls.append(np.size(value))
        return np.asarray(value**2)

    toy.model("beside", (factor,), (beside,), square, "A square", source=Source("definition"))
    toy.relation("found", found, beside * cos(assumed), "A cosine", source=Source("definition"))
    toy.circle(assumed, found)
    factors = np.array([0.3, 0.6, 0.9])
    point = fixed_point(network_of(toy), {assumed: 0.5}, {}, rounds=40, vary={factor: factors})
    assert calls == [3] and point.at_rest.all()
    rests = [brentq(lambda x, a=a: x - a**2 * np.cos(x), 0, 1) for a in factors]
    assert point.values[assumed] == pytest.approx(rests, rel=1e-6)
