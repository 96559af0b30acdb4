"""Chances and draws against SciPy's binomial and normal laws, against simulated draws, and against plain limits."""

import math
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from augerbook.builds.shipped import shipped_build
from augerbook.chapters import choosing, whole_head
from augerbook.chapters.choosing import figures
from augerbook.chapters.choosing.figures import Point
from augerbook.chapters.pictures import pictures_of
from augerbook.core.network import Solution
from augerbook.draw.scene import Scene
from augerbook.draw.scene_layout import Circles, Outline, Text
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy import stats

GIVEN = {
    "draw_count": 64.0, "holding_share": 75.0, "coverage_factor": 1.96, "wanted_half_width": 5.0,
    "limit_distance": 20.0, "limit_spread": 15.0, "lead": 10.0, "spread_at_hand": 20.0, "spread_new": 18.0,
    "shared_correlation": 0.9,
}  # fmt: skip
Q = whole_head().quantities


def solve(**changes: float) -> Solution:
    """Solve the chapter's formulas; values in the units shown to people."""
    return whole_head().solve({Q[key]: float(Q[key].si(value)) for key, value in (GIVEN | changes).items()})


def value(key: str, **changes: float) -> float:
    """One solved value in SI."""
    return solve(**changes)[Q[key]]


# --- shares of draws


@pytest.mark.outside("choosing.chance_low", "choosing.chance_high", by="scipy.stats.binomtest")
@pytest.mark.parametrize(("true", "of"), [(0, 16), (7, 50), (48, 64), (64, 64), (900, 1000)])
def test_the_bounds_are_those_of_scipy(true: int, of: int) -> None:
    for confidence in (0.9, 0.95):
        bounds = stats.binomtest(true, of).proportion_ci(confidence, method="wilson")
        factor = float(stats.norm.ppf(0.5 + confidence / 2))
        at = {"draw_count": of, "holding_share": 100 * true / of, "coverage_factor": factor}
        assert value("chance_low", **at) == pytest.approx(bounds.low, abs=1e-12)
        assert value("chance_high", **at) == pytest.approx(bounds.high, abs=1e-12)


@pytest.mark.outside("choosing.share_half_width", by="random draws, NumPy")
@pytest.mark.parametrize(("chance", "count"), [(0.5, 64), (0.9, 256)])
def test_the_half_width_misses_one_time_in_twenty(chance: float, count: int) -> None:
    shares = np.random.default_rng(3).binomial(count, chance, 100_000) / count
    half_width = value("share_half_width", draw_count=count, holding_share=100 * chance)
    # A count is whole: between its steps the chance to miss jumps by up to twice the probability of one step.
    step = stats.binom.pmf(round(count * (chance + half_width)), count, chance)
    assert np.mean(np.abs(shares - chance) > half_width) == pytest.approx(0.05, abs=2 * step)


@given(st.integers(8, 4096), st.floats(0, 100), st.floats(1, 4))
def test_bounds_stay_within_nothing_and_all_and_hold_the_share(count: int, share: float, factor: float) -> None:
    low, high = (
        value(key, draw_count=count, holding_share=share, coverage_factor=factor)
        for key in ("chance_low", "chance_high")
    )
    assert -1e-12 <= low <= share / 100 + 1e-12 and share / 100 - 1e-12 <= high <= 1 + 1e-12


@given(st.integers(8, 2048), st.floats(0, 100))
def test_more_draws_leave_less_doubt(count: int, share: float) -> None:
    few, many = (solve(draw_count=n, holding_share=share) for n in (count, 2 * count))
    for one, other in ((few, many),):
        wide = one[choosing.chance_high] - one[choosing.chance_low]
        assert other[choosing.chance_high] - other[choosing.chance_low] < wide
        assert other[choosing.share_half_width] <= one[choosing.share_half_width]


@given(st.floats(0.5, 99.5), st.floats(0.1, 25))
def test_as_many_draws_as_needed_give_the_half_width(share: float, half_width: float) -> None:
    needed = value("draws_needed", holding_share=share, wanted_half_width=half_width)
    assume(needed >= 1)
    assert value("share_half_width", holding_share=share, draw_count=needed) == pytest.approx(half_width / 100)


def test_the_rule_of_thumb_holds_over_all_shares() -> None:
    """One over the root of the draws: never too small, and at most two thirds too large for shares of 10 to 90 %."""
    for count in (16, 64, 256, 1024, 4096):
        for share in np.linspace(0, 100, 101):
            half_width = value("share_half_width", draw_count=count, holding_share=float(share))
            thumb = 1 / math.sqrt(count)
            assert half_width <= thumb
            if 10 <= share <= 90:
                assert thumb / half_width < 1.71


def test_a_side_that_is_too_rare_is_told() -> None:
    assert any("low and high bound" in w.validity.otherwise for w in solve(holding_share=97.0).warnings)
    assert not any("low and high bound" in w.validity.otherwise for w in solve(holding_share=75.0).warnings)


# --- chances of a margin and of a lead


@pytest.mark.outside("choosing.margin_chance", by="scipy.stats.norm")
@given(st.floats(-200, 200), st.floats(0.1, 200))
def test_the_chance_of_a_margin_is_the_area_of_the_bell(distance: float, spread: float) -> None:
    found = value("margin_chance", limit_distance=distance, limit_spread=spread)
    assert found == pytest.approx(stats.norm.cdf(distance / spread), abs=1e-12)


@pytest.mark.outside(
    "choosing.difference_spread", "choosing.better_chance", "choosing.own_better_chance",
    "choosing.own_difference_spread", by="two hundred thousand correlated draws, NumPy",
)  # fmt: skip
@pytest.mark.parametrize("correlation", [-0.5, 0.0, 0.9, 0.99])
def test_differences_spread_as_simulated_ones_do(correlation: float) -> None:
    covariance = np.outer([20, 18], [20, 18]) * np.array([[1, correlation], [correlation, 1]])
    at_hand, new = np.random.default_rng(5).multivariate_normal([0, 10], covariance, 200_000).T
    apart, own = new - at_hand, np.random.default_rng(6).permutation(new) - at_hand
    found = solve(shared_correlation=correlation)
    assert found[choosing.difference_spread] == pytest.approx(apart.std() / 100, rel=0.01)
    assert found[choosing.better_chance] == pytest.approx((apart > 0).mean(), abs=0.004)
    assert found[choosing.own_difference_spread] == pytest.approx(own.std() / 100, rel=0.01)
    assert found[choosing.own_better_chance] == pytest.approx((own > 0).mean(), abs=0.004)


@pytest.mark.outside("choosing.draws_saved", by="the spread of means of simulated draws, NumPy")
def test_draws_saved_are_those_that_make_the_mean_lead_as_certain() -> None:
    saved = value("draws_saved", shared_correlation=0.9)
    covariance = np.outer([20, 18], [20, 18]) * np.array([[1, 0.9], [0.9, 1]])
    random = np.random.default_rng(8)
    few, many = 25, round(25 * saved)
    common = random.multivariate_normal([0, 0], covariance, (4000, few))
    common_lead = (common[..., 1] - common[..., 0]).mean(axis=1).std()
    own_lead = (random.normal(0, 18, (4000, many)).mean(axis=1) - random.normal(0, 20, (4000, many)).mean(axis=1)).std()
    assert own_lead == pytest.approx(common_lead, rel=0.04)


@given(st.floats(0, 200), st.floats(0.1, 200), st.floats(0.1, 200), st.floats(0, 1))
def test_common_draws_never_blur_a_lead(lead: float, one: float, other: float, correlation: float) -> None:
    at = {"lead": lead, "spread_at_hand": one, "spread_new": other, "shared_correlation": correlation}
    found = solve(**at)
    assert found[choosing.difference_spread] <= found[choosing.own_difference_spread] * (1 + 1e-12)
    if found[choosing.difference_spread] > 0:
        assert found[choosing.better_chance] >= found[choosing.own_better_chance] - 1e-12
    assert found[choosing.draws_saved] >= 1 - 1e-12


@given(st.floats(-200, 199), st.floats(0.1, 100), st.floats(0.1, 100), st.floats(-0.99, 0.99))
def test_a_larger_lead_is_surer(lead: float, one: float, other: float, correlation: float) -> None:
    at = {"spread_at_hand": one, "spread_new": other, "shared_correlation": correlation}
    assert value("better_chance", lead=lead + 1, **at) >= value("better_chance", lead=lead, **at)
    assert value("better_chance", lead=0.0, **at) == pytest.approx(0.5)


def test_what_both_share_wholly_leaves_no_doubt() -> None:
    alike = {"spread_new": 20.0, "shared_correlation": 1.0}
    assert value("better_chance", **alike) == 1.0 and value("better_chance", lead=-1.0, **alike) == 0.0
    assert math.isinf(value("draws_saved", **alike))


# --- pictures


def outlines(scene: Scene, style: str) -> list[np.ndarray]:
    shapes = (shape for shape in scene._shapes if isinstance(shape, Outline) and shape.style == style)
    return [shape.points for shape in shapes]


def texts(scene: Scene) -> list[str]:
    return [shape.text for shape in scene._shapes if isinstance(shape, Text)]


def area(corners: np.ndarray) -> float:
    x, y = corners.T
    return 0.5 * abs(float(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1))))


BELLS, COUNTS = pictures_of("choosing")


@pytest.mark.parametrize("name", ["otter", "wren"])
def test_the_filled_part_of_the_bell_is_the_chance_to_be_better(name: str) -> None:
    solution = shipped_build(name).solution
    scene = BELLS.scene(solution)
    assert isinstance(scene, Scene)
    (better,), (worse,) = outlines(scene, "grain"), outlines(scene, "hatch")
    assert area(better) / (area(better) + area(worse)) == pytest.approx(solution[choosing.better_chance], abs=0.004)


@pytest.mark.parametrize("name", ["otter", "wren"])
def test_bells_of_a_row_have_one_area_and_stand_apart_by_the_lead(name: str) -> None:
    solution = shipped_build(name).solution
    scene = BELLS.scene(solution)
    (at_hand,), (new,) = outlines(scene, "screw"), outlines(scene, "ghost")
    assert area(at_hand) == pytest.approx(area(new), rel=0.02)
    middles = [float(bell[:, 0].min() + bell[:, 0].max()) / 2 for bell in (at_hand, new)]
    width = np.ptp(at_hand[:, 0]) / float(choosing.spread_at_hand.shown(solution[choosing.spread_at_hand]))
    apart = (middles[1] - middles[0]) / width * 6.4
    assert apart == pytest.approx(solution.shown(choosing.lead), rel=1e-6)


@given(
    st.floats(-200, 200), st.floats(0.1, 200), st.floats(0.1, 200), st.sampled_from([-1.0, -0.5, 0.0, 0.9, 1.0]),
)  # fmt: skip
def test_bells_are_drawn_at_all_values(lead: float, one: float, other: float, correlation: float) -> None:
    at = {"lead": lead, "spread_at_hand": one, "spread_new": other, "shared_correlation": correlation}
    scene = BELLS.scene(solve(**at))
    assert isinstance(scene, Scene)
    points = np.vstack([shape.points for shape in scene._shapes if isinstance(shape, Outline)])
    assert np.isfinite(points).all()


@pytest.mark.parametrize("count", [64.0, 100.0])
def test_bars_reach_from_the_low_to_the_high_bound(count: float) -> None:
    solution = solve(draw_count=count)
    scene = COUNTS.scene(solution)
    assert isinstance(scene, Scene)
    (here,) = outlines(scene, "grain")
    low, high = (100 * solution[q] for q in (choosing.chance_low, choosing.chance_high))
    rest = outlines(scene, "screw")
    assert len(rest) == (4 if count == 64 else 5)
    ticks = [shape for shape in scene._shapes if isinstance(shape, Text) and shape.text in ("0 %", "100 %")]
    zero, whole = (tick.x for tick in ticks)
    scale = (whole - zero) / 100
    assert here[:, 0].min() == pytest.approx(zero + scale * low) and here[:, 0].max() == pytest.approx(
        zero + scale * high
    )
    assert f"{low:.0f} to {high:.0f} %" in texts(scene)


def curve_data(monkeypatch: pytest.MonkeyPatch, draw: Callable[[], Any]) -> dict[str, Any]:
    """What a graph is given as curves and markers."""
    seen: dict[str, Any] = {}
    update = figures.LivePlot.update

    def note(plot: Any, **given: Any) -> str:
        for data in given.values():
            if isinstance(data, dict):
                seen.update(data)
        return update(plot, **given)

    monkeypatch.setattr(figures.LivePlot, "update", note)
    draw()
    return seen


POINTS = [
    Point("at hand", 3.0, 3.0, "beaten", at_hand=True),
    Point("small", 1.0, 4.0, "front"),
    Point("quick", 2.0, 2.0, "front"),
    Point("weak", 0.5, 0.5, "unlikely"),
    Point("odd", math.nan, 1.0, "beaten"),
]


def test_the_front_is_a_staircase_through_the_unbeaten(monkeypatch: pytest.MonkeyPatch) -> None:
    seen = curve_data(monkeypatch, lambda: figures.draw_front(POINTS, "this", "that"))
    x, y = seen["steps"]
    assert list(zip(x, y, strict=True)) == [(1.0, 4.0), (2.0, 4.0), (2.0, 2.0)]
    assert seen["unlikely"][0].tolist() == [0.5] and seen["at_hand"][1].tolist() == [3.0]
    assert {seen[key][0] for key in seen if key.startswith("name_")} == {"at hand", "small", "quick"}
    with pytest.raises(ValueError, match="no candidate has a value for both aims"):
        figures.draw_front([POINTS[-1]], "this", "that")


def test_chances_are_drawn_as_long_as_they_are() -> None:
    long = "DIN 7998 6; bore diameter 8.25 mm; tube outside diameter 12 mm"
    scene = figures.draw_chances([("one", 0.75, 0.6, 0.85), (long, 0.0, 0.0, 0.1)])
    first, second = outlines(scene, "screw")
    assert np.ptp(first[:, 0]) / np.ptp(second[:, 0]) == pytest.approx(0.25 / 0.1)
    assert {"DIN 7998 6; bore diameter 8.25 mm;", "tube outside diameter 12 mm"} <= set(texts(scene))
    assert "75 % (60 to 85)" in scene.alt


def test_pairs_show_draws_and_sorted_differences(monkeypatch: pytest.MonkeyPatch) -> None:
    at_hand = np.array([1.0, 2.0, 4.0, 3.0])
    new, own = at_hand + np.array([0.2, 0.1, 0.3, 0.2]), np.array([4.0, 1.0, 2.0, 3.0])
    seen = curve_data(monkeypatch, lambda: figures.draw_pairs(at_hand, new, own, "aim (%)", ("one", "other")))
    np.testing.assert_allclose(seen["common"][0], [0.1, 0.2, 0.2, 0.3])
    np.testing.assert_allclose(seen["own"][0], np.sort(own - at_hand))
    np.testing.assert_allclose(seen["common"][1], [12.5, 37.5, 62.5, 87.5])


def test_the_share_settles_on_its_last_value(monkeypatch: pytest.MonkeyPatch) -> None:
    held = np.array([True, False, True, True])
    bounds = (np.zeros(4), np.ones(4))
    seen = curve_data(monkeypatch, lambda: figures.draw_settling([("one", held)], [bounds]))
    np.testing.assert_allclose(seen["share_0"][1], [100, 50, 200 / 3, 75])
    np.testing.assert_allclose(seen["bounds_0"][2], 100)


def test_draws_stand_beside_the_bell_with_their_mean(monkeypatch: pytest.MonkeyPatch) -> None:
    values = np.array([1.0, 3.0, 2.0, 2.0])
    seen = curve_data(monkeypatch, lambda: figures.draw_against_bell(values, 2.5, "stress"))
    x, y = seen["bell"]
    assert np.interp(2.0, x, y) == pytest.approx(50, abs=0.5) and seen["limit"][0] == [2.5, 2.5]
    np.testing.assert_allclose(seen["draws"][0], np.sort(values))
    assert "75 % of the draws" in figures.draw_against_bell(values, 2.5, "stress").alt


def test_bars_of_deciders_are_as_long_as_their_shares() -> None:
    scene = figures.draw_deciders([("this", np.array([0.6, 0.3])), ("that", np.array([0.1, 0.9]))], ["push", "drag"])
    lengths = [float(np.ptp(bar[:, 0])) for bar in outlines(scene, "screw")[:2]]
    assert lengths[0] / lengths[1] == pytest.approx(2.0) and "push 60 %, 10 %" in scene.alt


def test_each_set_of_draws_has_its_dot_and_the_bar_its_reach() -> None:
    sets = np.array([0.25, 0.5, 0.5, 0.75])
    scene = figures.draw_sets([("one", sets), ("other", np.ones(4))], 16)
    dots = np.array([shape.centres[0] for shape in scene._shapes if isinstance(shape, Circles)])
    assert len(dots) == 8
    assert (dots[2, 0] - dots[0, 0]) / (dots[4, 0] - dots[0, 0]) == pytest.approx(0.25 / 0.75)
    first, second = outlines(scene, "screw")
    assert np.ptp(first[:, 0]) / np.ptp(second[:, 0]) == pytest.approx(2.0)  # a quarter either way; one way at the end
    assert "one 25 to 75 %" in scene.alt
