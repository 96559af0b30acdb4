import math

import numpy as np
import pytest
import sympy as sp
from augerbook.builds.shipped import shipped_build
from augerbook.chapters.conveying import speed_for_flow
from augerbook.core.network import Network, NetworkError
from augerbook.core.quantity import Quantity
from augerbook.core.relation import Relation
from augerbook.core.sources import Source
from augerbook.core.spread import (
    OneStep,
    Share,
    Spread,
    effects,
    effects_in_words,
    elasticities,
    monte_carlo,
    small_steps,
    spread,
    spread_in_words,
    strength,
)
from hypothesis import given
from hypothesis import strategies as st

from tests.core.barrel import (
    CHOICES,
    NETWORK,
    VALUES,
    emptying_time,
    filling,
    flow,
    height,
    level,
    section,
    tap_bore,
    thinness,
    water_temperature,
    water_volume,
    width,
)
from tests.core.toy import Toy, network_of


def linear(*factors: float) -> tuple[Network, list[Quantity], Quantity]:
    """Return a network with ``total = sum of factor * term``."""
    subject = Toy("linear", number=1, title="Linear", question="?")
    terms = [subject.given(f"term_{i}", f"x_{i}", "1", "a term", -100, 100) for i in range(len(factors))]
    total = subject.result("total", "y", "1", "the sum")
    rhs = sp.Add(*(sp.Float(f) * t for f, t in zip(factors, terms, strict=True)))
    subject.relation("total", total, rhs, "the sum", source=Source("definition"))
    return network_of(subject), terms, total


# Elasticities


def test_temperatures_move_and_are_moved_by_degrees() -> None:
    subject = Toy("warm", number=1, title="Warm", question="?")
    room = subject.given("room", "T_a", "degC", "room", 0, 40)
    rise = subject.given("rise", "dT", "delta_degC", "rise", 1, 100)
    inside = subject.result("inside", "T_i", "degC", "inside")
    subject.relation("inside", inside, room + rise, "sum", source=Source("definition"))
    network, values = network_of(subject), {room: 300.0, rise: 50.0}
    steps = [step for q, si in values.items() for step in small_steps(q, si)]
    assert [step.words for step in steps] == ["room +1 °C", "room -1 °C", "rise +1 %", "rise -1 %"]
    found = effects(network, [inside], values, steps)[inside]
    assert [(step.quantity, effect) for step, effect in found] == [(room, pytest.approx(1)), (rise, pytest.approx(0.5))]
    assert effects_in_words(inside, found) == "room +1 °C: +1.0 °C; rise +1 %: +0.50 °C"


def test_steps_are_ranked_by_what_they_do_and_not_by_per_cent() -> None:
    """A degree of a temperature is a third of a per cent of it in kelvins: a per cent of it is no step that is told."""
    subject = Toy("ranked", number=1, title="", question="")
    block = subject.given("block", "T_b", "degC", "block", 0, 400)
    wall = subject.given("wall", "t", "mm", "wall", 1, 10)
    stress = subject.result("stress", "s", "1", "stress")
    subject.relation("stress", stress, block**2 / wall, "stress", source=Source("definition"))
    network, values = network_of(subject), {block: 400.0, wall: 0.002}
    assert [q for q, _ in elasticities(network, [stress], values)[stress]] == [block, wall]
    small = [step for q, si in values.items() for step in small_steps(q, si)]
    assert [step.quantity for step, _ in effects(network, [stress], values, small)[stress]] == [wall, block]
    sold = OneStep(wall, "wall 2 to 4 mm", {wall: 0.004})
    (first, effect), _ = effects(network, [stress], values, [sold, *small])[stress]
    assert first is sold and effect == pytest.approx(-0.5)


def test_where_a_step_leads_to_no_value_the_next_of_the_same_input_counts() -> None:
    subject = Toy("edge", number=1, title="", question="")
    x, y = (subject.given(key, key, "1", key, -4, 4) for key in ("x", "y"))
    root = subject.result("root", "r", "1", "root")
    subject.relation("root", root, sp.sqrt(4 - x) + 0 * y, "root", source=Source("definition"))
    network, values = network_of(subject), {x: 0.0, y: 1.0}
    up, down = OneStep(x, "x 0 to 5", {x: 5.0}), OneStep(x, "x 0 to -5", {x: -5.0})
    assert effects(network, [root], values, [up, down]) == {root: [(down, pytest.approx(0.5))]}
    assert effects(network, [root], values, [up]) == {root: []}
    assert effects(network, [root], {y: 1.0}, [up]) == {}


def symbolic(output: Quantity) -> dict[Quantity, float]:
    """Return the elasticities of an output from SymPy's derivative of the whole chain."""
    expression: sp.Expr = output
    for node in reversed(NETWORK.chain([output], VALUES, CHOICES)):
        if isinstance(node, Relation):
            expression = expression.subs(node.lhs, node.rhs)
        else:
            expression = expression.subs(node.outputs[0], node.needs(CHOICES)[0])
    at = {q: v for q, v in VALUES.items() if q in expression.free_symbols}
    return {q: float((sp.diff(expression, q) * q / expression).subs(at)) for q in at}


@pytest.mark.parametrize("output", [water_volume, filling, flow, thinness], ids=lambda q: q.key)
def test_elasticities_are_those_of_the_derivative(output: Quantity) -> None:
    found = dict(elasticities(NETWORK, [output], VALUES, CHOICES)[output])
    assert found == pytest.approx(symbolic(output), rel=1e-6)


def test_elasticities_reach_through_a_model_strongest_first() -> None:
    found = elasticities(NETWORK, [emptying_time], VALUES, CHOICES)[emptying_time]
    assert [q.key for q, _ in found[2:]] == ["level"]
    assert dict(found) == pytest.approx({width: 2, tap_bore: -2, level: 0.5}, rel=1e-6)


@given(st.lists(st.floats(0.1, 10), min_size=3, max_size=3), st.floats(0.5, 2))
def test_equally_strong_ones_stay_in_their_order_whatever_the_rounding(at: list[float], power: float) -> None:
    subject = Toy("equal", number=1, title="Equal", question="?")
    sides = [subject.given(f"side_{i}", f"x_{i}", "1", "a side", 0.1, 10) for i in range(3)]
    size = subject.result("size", "y", "1", "the size")
    subject.relation(
        "size", size, (sides[2] * sides[0] * sides[1]) ** sp.Float(power), "s", source=Source("definition")
    )
    values = dict(zip(sides, at, strict=True))
    assert [q for q, _ in elasticities(network_of(subject), [size], values)[size]] == sides
    ends = {q: (0.9 * value, 1.1 * value) for q, value in values.items()}
    assert [share.quantity for share in spread(network_of(subject), size, values, ends).shares] == sides


def test_what_has_no_influence_is_left_out() -> None:
    found = dict(elasticities(NETWORK, [water_volume], VALUES, CHOICES)[water_volume])
    assert set(found) == {width, level}


def test_a_measured_result_counts_and_what_it_replaces_does_not() -> None:
    found = dict(elasticities(NETWORK, [water_volume], {**VALUES, section: 0.3}, CHOICES)[water_volume])
    assert found == pytest.approx({section: 1, level: 1})


def test_inputs_can_be_narrowed_down() -> None:
    found = dict(elasticities(NETWORK, [water_volume], VALUES, CHOICES, inputs=[width, height])[water_volume])
    assert found == pytest.approx({width: 2})


def test_elasticities_of_what_is_not_defined_or_zero_are_none() -> None:
    empty = {**VALUES, level: 0.0}
    assert elasticities(NETWORK, [emptying_time, water_volume], empty, CHOICES) == {emptying_time: [], water_volume: []}
    assert elasticities(NETWORK, [water_volume], {}, CHOICES) == {}
    assert elasticities(NETWORK, [level], VALUES, CHOICES) == {}


# Spread

ends = st.tuples(st.floats(-50, 50), st.floats(0.1, 40), st.floats(-5, 5).filter(lambda f: abs(f) > 1e-3))


@given(st.lists(ends, min_size=1, max_size=5))
def test_the_spread_of_a_linear_result_is_exact(terms: list[tuple[float, float, float]]) -> None:
    network, quantities, total = linear(*(factor for _, _, factor in terms))
    values = {q: nominal for q, (nominal, _, _) in zip(quantities, terms, strict=True)}
    limits = {q: (n - half, n + half) for q, (n, half, _) in zip(quantities, terms, strict=True)}
    found = spread(network, total, values, limits)
    nominal = sum(n * f for n, _, f in terms)
    half = math.sqrt(sum((h * f) ** 2 for _, h, f in terms))
    assert found.nominal == pytest.approx(nominal, abs=1e-9)
    assert (found.low, found.high) == pytest.approx((nominal - half, nominal + half), abs=1e-9)
    assert sum(share.share for share in found.shares) == pytest.approx(1)
    expected = {q: (h * f) ** 2 / half**2 for q, (_, h, f) in zip(quantities, terms, strict=True)}
    assert {s.quantity: s.share for s in found.shares} == pytest.approx(expected, abs=1e-9)
    strengths = [strength(s.share) for s in found.shares]
    assert strengths == sorted(strengths, reverse=True)


def test_spread_and_random_draws_agree_on_a_linear_result() -> None:
    network, quantities, total = linear(2.0, -3.0, 0.5)
    values = dict(zip(quantities, (1.0, 2.0, 5.0), strict=True))
    limits = {q: (v - half, v + half) for (q, v), half in zip(values.items(), (0.6, 0.3, 2.0), strict=True)}
    found = spread(network, total, values, limits)
    drawn = monte_carlo(network, [total], values, limits, samples=200_000)[total]
    # a triangle of half width h has a variance of h**2 / 6, and variances of independent terms add
    assert drawn.std() == pytest.approx((found.high - found.low) / 2 / math.sqrt(6), rel=0.01)
    assert drawn.mean() == pytest.approx(found.nominal, abs=0.01)
    assert drawn.min() > found.nominal - 1.2 - 0.9 - 1.0 and drawn.max() < found.nominal + 3.1


def test_ends_that_move_a_result_the_same_way_count_once() -> None:
    subject = Toy("bowl", number=1, title="Bowl", question="?")
    x = subject.given("x", "x", "1", "x", -9, 9)
    y = subject.result("bowl", "y", "1", "a bowl")
    subject.relation("bowl", y, x**2, "a bowl", source=Source("definition"))
    found = spread(network_of(subject), y, {x: 0.0}, {x: (-1.0, 2.0)})
    assert (found.low, found.nominal, found.high) == (0.0, 0.0, 4.0)


def test_the_spread_of_a_measured_result_reaches_what_depends_on_it() -> None:
    found = spread(NETWORK, water_volume, {**VALUES, section: 0.3}, {section: (0.2, 0.5)}, CHOICES)
    assert (found.low, found.nominal, found.high) == pytest.approx((0.12, 0.18, 0.30))
    itself = spread(NETWORK, section, {**VALUES, section: 0.3}, {section: (0.2, 0.5)}, CHOICES)
    assert (itself.low, itself.nominal, itself.high) == pytest.approx((0.2, 0.3, 0.5))


def test_without_uncertain_inputs_there_is_no_spread() -> None:
    found = spread(NETWORK, filling, VALUES, {}, CHOICES)
    assert (found.low, found.nominal, found.high, found.shares) == (0.6, 0.6, 0.6, ())
    idle = spread(NETWORK, filling, VALUES, {tap_bore: (0.01, 0.03)}, CHOICES)
    assert idle.low == idle.high == idle.nominal and [s.share for s in idle.shares] == [0.0]


@pytest.mark.parametrize("ends", [{}, {tap_bore: (0.01, 0.03)}])
def test_a_result_that_lacks_something_is_refused_with_and_without_uncertain_inputs(
    ends: dict[Quantity, tuple[float, float]],
) -> None:
    lacking = {q: si for q, si in VALUES.items() if q != level}
    with pytest.raises(NetworkError, match="cannot compute: water volume needs level"):
        spread(NETWORK, water_volume, lacking, ends, CHOICES)


# Random draws


def test_draws_are_the_same_each_time_and_stay_within_the_ends() -> None:
    limits = {level: (0.5, 0.9), width: (0.4, 0.5), height: (1.0, 1.0)}
    one, two = (monte_carlo(NETWORK, [filling, water_volume], VALUES, limits, CHOICES, samples=500) for _ in "12")
    for quantity in (filling, water_volume):
        np.testing.assert_array_equal(one[quantity], two[quantity])
    assert 0.5 < one[filling].min() < one[filling].max() < 0.9
    other = monte_carlo(NETWORK, [filling], VALUES, limits, CHOICES, samples=500, seed=2)
    assert not np.array_equal(one[filling], other[filling])


def test_draws_without_a_spread_are_refused() -> None:
    with pytest.raises(ValueError, match="no input has a spread"):
        monte_carlo(NETWORK, [filling], VALUES, {height: (1.0, 1.0)}, CHOICES)


def test_a_temperature_moves_by_its_absolute_value() -> None:
    found = dict(elasticities(NETWORK, [thinness], VALUES, CHOICES)[thinness])
    assert found == pytest.approx({water_temperature: 1.0}, rel=1e-6)


def test_a_result_that_is_declared_positive_has_no_spread_below_zero() -> None:
    subject = Toy("curved", number=1, title="", question="")
    base = subject.given("base", "b", "1", "a number", 0.1, 10)
    power = subject.given("power", "n", "1", "another", 0.1, 10)
    raised = subject.result("raised", "r", "1", "their power", positive=True)
    subject.relation("raised", raised, 1 / base**power, "a curved relation", source=Source("definition"))
    found = spread(network_of(subject), raised, {base: 1.5, power: 4.0}, {base: (1.0, 4.0), power: (1.0, 8.0)})
    assert 0 < found.low < min(share.at_high for share in found.shares)
    assert found.low < found.nominal < found.high


def a_product(least: float, *, positive: bool) -> tuple[Network, Quantity, Quantity, Quantity]:
    """Return a network of two numbers, not less than ``least``, with both and their product."""
    subject = Toy("left", number=1, title="", question="")
    one = subject.given("one", "a", "1", "a number", least, 10)
    other = subject.given("other", "b", "1", "another", least, 10)
    left = subject.result("left", "r", "1", "their product", positive=positive, nonnegative=not positive)
    subject.relation("left", left, one * other, "a product", source=Source("definition"))
    return network_of(subject), left, one, other


def test_a_result_that_is_never_negative_may_come_to_nothing_but_not_below() -> None:
    network, left, one, other = a_product(0.0, positive=False)
    values = {one: 2.0, other: 3.0}
    assert spread(network, left, values, {one: (0.0, 3.0), other: (1.0, 4.0)}).low == 0.0
    assert 0 < spread(network, left, values, {one: (0.2, 3.0), other: (0.3, 4.0)}).low < 0.6


def test_a_product_of_two_that_may_fall_far_falls_by_its_factors() -> None:
    network, left, one, other = a_product(0.1, positive=True)
    found = spread(network, left, {one: 1.0, other: 1.0}, {one: (0.3, 1.0), other: (0.3, 1.0)})
    # The moves alone, two of 0.7 in quadrature, would leave 0.01; both at once leave 0.09.
    assert found.low == pytest.approx(math.exp(-math.hypot(math.log(0.3), math.log(0.3))))


def test_two_inputs_that_lead_to_one_other_state_lead_there_once() -> None:
    """Either switch alone takes all there is to take: both together take no more."""
    subject = Toy("switched", number=1, title="", question="")
    one = subject.given("one", "a", "1", "a switch", 0, 1)
    other = subject.given("other", "b", "1", "another", 0, 1)
    slope = subject.given("slope", "c", "1", "what moves it a little in any state", -9, 9)
    left = subject.result("left", "r", "1", "what is left")
    subject.relation("left", left, 10 - 9 * sp.Max(one, other) + slope, "switched off", source=Source("definition"))
    values = {one: 0.0, other: 0.0, slope: 0.0}
    found = spread(network_of(subject), left, values, {one: (0.0, 1.0), other: (0.0, 1.0), slope: (-1.0, 1.0)})
    assert (found.low, found.nominal, found.high) == pytest.approx((0.0, 10.0, 11.0))
    alone = spread(network_of(subject), left, values, {one: (0.0, 1.0), slope: (-1.0, 1.0)})
    assert alone.low == pytest.approx(10 - math.hypot(9, 1))


def test_inputs_that_hold_each_other_back_narrow_nothing_below_one_alone() -> None:
    subject = Toy("against", number=1, title="", question="")
    one = subject.given("one", "a", "1", "a number", -9, 9)
    other = subject.given("other", "b", "1", "another", -9, 9)
    against = subject.result("against", "r", "1", "their product")
    subject.relation("against", against, one * other, "a product", source=Source("definition"))
    found = spread(network_of(subject), against, {one: 1.0, other: 1.0}, {one: (-2.0, 1.0), other: (-2.0, 1.0)})
    assert found.low == -2.0 and found.high >= 1.0


def test_no_draw_of_otter_asks_for_as_slow_a_screw_as_two_flips_added_up_would() -> None:
    otter = shipped_build("otter")
    drawn = monte_carlo(otter.network, [speed_for_flow], otter.values, otter.ends, otter.choices, samples=2000)
    found = spread(otter.network, speed_for_flow, otter.values, otter.ends, otter.choices)
    assert found.low == pytest.approx(float(np.nanmin(drawn[speed_for_flow])), rel=0.05)


def test_a_result_without_limit_has_no_spread_in_words() -> None:
    assert spread_in_words(filling, Spread(math.inf, math.nan, math.nan, (Share(height, math.inf, 1.0, 0.0),))) == ""


def test_an_end_where_the_result_is_not_defined_counts_in_no_spread_and_is_named() -> None:
    subject = Toy("root", number=1, title="Root", question="?")
    under = subject.given("under", "u", "1", "under the root", -9, 9)
    factor = subject.given("factor", "f", "1", "a factor", 1, 9)
    root = subject.result("root", "r", "1", "the root")
    subject.relation("root", root, factor * sp.sqrt(under), "the root", source=Source("definition"))
    around = spread(network_of(subject), root, {under: 4.0, factor: 2.0}, {under: (-1.0, 9.0), factor: (1.0, 3.0)})
    assert (around.nominal, around.low, around.high) == pytest.approx((4, 2, 6))
    assert around.lost == (under,)


def test_ends_that_cannot_be_together_go_only_as_far_as_they_can() -> None:
    """Poured granules are never heavier than tapped ones, so that tapped over loose stays at one or above."""
    subject = Toy("packed", number=1, title="", question="")
    loose, tapped, wall = (subject.given(key, key, "1", key, 0.1, 9) for key in ("loose", "tapped", "wall"))
    ratio = subject.result("ratio", "r", "1", "tapped over loose", positive=True)
    scaled = subject.result("scaled", "s", "1", "the same, scaled by something else", positive=True)
    subject.relation("ratio", ratio, tapped / loose, "a ratio", source=Source("definition"))
    subject.relation("scaled", scaled, ratio * wall, "a product", source=Source("definition"))
    subject.part.require(loose, tapped, "tapping packs")
    network, values = network_of(subject), {loose: 4.0, tapped: 5.0, wall: 2.0}
    ends = {loose: (3.0, 4.9), tapped: (4.1, 6.0), wall: (2.0, 2.0)}
    around = spread(network, ratio, values, ends)
    assert around.low == pytest.approx(1.0) and around.low < 4.1 / 4.0, "and lower than one of them alone leads"
    free = math.sqrt((5 / 3 - 1.25) ** 2 + (6 / 4 - 1.25) ** 2)
    assert around.high == pytest.approx(1.25 + free), "the other way nothing is in the way"
    assert spread(network, scaled, values, ends).low == pytest.approx(2.0)
    alone = spread(network, ratio, values, {loose: (3.0, 4.9)})
    assert alone.low == pytest.approx(5 / 4.9), "with one of them known there is only its own end"
