"""Trials against simulated weighings, other routes to power, and limits that statistics knows of itself."""

import math
import re
from typing import Any

import numpy as np
import pytest
from augerbook.builds.build import Build
from augerbook.builds.shipped import shipped_build
from augerbook.chapters import trials
from augerbook.chapters.pictures import pictures_of
from augerbook.chapters.trials import figures
from augerbook.chapters.trials.models import blocks_for, power_of_blocks, power_of_trial, ratio_told, weighings_for
from augerbook.chapters.trials.picture import TIMES, curves_of_trial, draw_parts, squares_over_time
from augerbook.draw.scene_layout import Outline
from hypothesis import given
from hypothesis import strategies as st
from scipy import special, stats
from scipy.integrate import quad, solve_ivp
from scipy.signal import lfilter

from tests.chapters.chapters import words_of
from tests.chapters.solving import changed, shown_in, solved_at

BOTH = [(name, shipped_build(name)) for name in ("otter", "wren")]
each_build = pytest.mark.parametrize("build", [build for _, build in BOTH], ids=[name for name, _ in BOTH])


# --- the spread of one weighing


def spread_of_means(flow: np.ndarray[Any, Any], window: int) -> float:
    """Standard deviation of means over windows side by side."""
    count = len(flow) // window
    return float(flow[: count * window].reshape(count, window).mean(axis=1).std())


@pytest.mark.outside("trials.counting_part", by="independent turns through a filter in time, scipy.signal.lfilter")
@pytest.mark.parametrize(("held", "turns"), [(0.4, 12), (2.0, 15), (6.0, 30)])
def test_counting_over_a_weighing_is_that_of_simulated_turns(held: float, turns: int) -> None:
    steps, noise = 20, 0.2
    brought = 1 + noise * np.random.default_rng(2).standard_normal(300_000 // turns * turns // 10 * 10)
    # A pulse at a random place of each turn: independent in time, as the formula takes it.
    flow = np.zeros(len(brought) * steps)
    places = np.arange(len(brought)) * steps + np.random.default_rng(3).integers(0, steps, len(brought))
    flow[places] = (brought - 1) * steps
    stay = math.exp(-1 / (steps * held))
    out = lfilter([1 - stay], [1, -stay], flow)
    solution = solved_at(
        {"pocket_noise": 100 * noise, "turns_held": held, "speed_for_flow": 60.0, "weighing_time": float(turns)}
    )
    assert solution[trials.counting_part] == pytest.approx(spread_of_means(out, turns * steps), rel=0.02)


@pytest.mark.outside("trials.swing_part", "trials.slow_swing", by="fading noise in time, scipy.signal.lfilter")
@pytest.mark.parametrize(("kept", "time"), [(5.0, 30.0), (40.0, 30.0), (20.0, 180.0)])
def test_slow_changes_over_a_weighing_are_those_of_simulated_ones(kept: float, time: float) -> None:
    step = 0.5
    stay = math.exp(-step / kept)
    white = np.random.default_rng(4).standard_normal(2_000_000)
    swing = 0.05 * lfilter([math.sqrt(1 - stay**2)], [1, -stay], white)
    solution = solved_at({"unevenness": 13.0, "ripple": 12.0, "swing_time": kept, "weighing_time": time})
    assert solution[trials.slow_swing] == pytest.approx(0.05, rel=1e-9)
    assert solution[trials.swing_part] == pytest.approx(spread_of_means(swing, round(time / step)), rel=0.03)


@pytest.mark.outside("trials.balance_part", "trials.weighing_mass", by="simulated readings rounded to a step, NumPy")
def test_two_rounded_readings_scatter_as_the_balance_part_says() -> None:
    random = np.random.default_rng(5)
    dish, mass, step = random.uniform(10, 12, 400_000), 0.5, 0.05
    read = step * (np.round((dish + mass + random.uniform(0, step, dish.size)) / step) - np.round(dish / step))
    # 2.5 mm³/s of 1000 kg/m³ for 200 s are half a gram; what differs from dish to dish is the unrounded mass.
    solution = solved_at({"wanted_flow": 2.5, "solid_density": 1000.0, "weighing_time": 200.0, "balance_reading": step})
    assert solution[trials.weighing_mass] == pytest.approx(mass * 1e-3, rel=1e-12)
    within = math.sqrt(read.var() - step**2 / 12)
    assert solution[trials.balance_part] == pytest.approx(within / mass, rel=0.01)


@pytest.mark.outside("trials.turn_mass", by="grams and cubic centimetres")
def test_a_turn_weighs_its_volume_times_the_density() -> None:
    """8 mm³ are 0.008 cm³; of 1.24 g/cm³ they weigh 9.92 mg."""
    solution = solved_at({"turn_at_work": 8.0, "solid_density": 1240.0})
    assert solution.shown(trials.turn_mass) == pytest.approx(9.92)


@pytest.mark.outside(
    "trials.timing_part",
    "trials.weighing_turns",
    "trials.weighing_spread",
    by="simulated weighings, NumPy",
)
def test_a_weighing_with_all_causes_scatters_as_the_sum_of_squares() -> None:
    random = np.random.default_rng(6)
    count, time, off = 400_000, 60.0, 1.2
    flow = 1 + 0.03 * random.standard_normal(count) + 0.02 * random.standard_normal(count)
    mass = flow * (1 + 0.015 * random.standard_normal(count)) * (time + off * random.standard_normal(count)) / time
    solution = solved_at(
        {
            "counting_part": 3.0, "swing_part": 2.0, "run_repeatability": 1.5, "timing_deviation": off,
            "weighing_time": time, "balance_part": 0.0, "speed_for_flow": 30.0,
        }
    )  # fmt: skip
    assert solution[trials.weighing_spread] == pytest.approx(mass.std() / mass.mean(), rel=0.01)
    turns = np.searchsorted(np.arange(1000) / 0.5, time, side="right") - 1  # half a turn a second
    assert solution[trials.weighing_turns] == pytest.approx(turns)
    assert solution[trials.timing_part] == pytest.approx((off * random.standard_normal(count)).std() / time, rel=0.01)


@pytest.mark.outside("trials.measuring_share", "trials.effect_ratio", by="the same shares from simulated parts, NumPy")
def test_shares_are_those_of_simulated_parts() -> None:
    random = np.random.default_rng(8)
    head, balance, clock = (s * random.standard_normal(400_000) for s in (0.04, 0.02, 0.01))
    solution = solved_at(
        {"weighing_spread": 100 * float((head + balance + clock).std()), "balance_part": 2.0, "timing_part": 1.0,
         "effect_wanted": 7.0}
    )  # fmt: skip
    share = (balance + clock).std() / (head + balance + clock).std()
    assert solution[trials.measuring_share] == pytest.approx(share, rel=0.01)
    assert solution[trials.effect_ratio] == pytest.approx(0.07 / (head + balance + clock).std(), rel=1e-9)


@each_build
def test_no_weighing_scatters_less_than_run_from_run_or_more_than_a_turn(build: Build) -> None:
    times = np.geomspace(30, 3600, 40)
    spread, counting, swing = build.solution.sweep(
        [trials.weighing_spread, trials.counting_part, trials.swing_part], [trials.weighing_time]
    )(times)
    assert (np.diff(spread) < 0).all() and (spread > build.solution[trials.run_repeatability]).all()
    assert (counting < build.solution[trials.pocket_noise]).all() and (swing < build.solution[trials.slow_swing]).all()


@given(kept=st.floats(0.5, 3600), time=st.floats(2, 3600))
def test_a_mean_never_swings_more_than_a_moment_and_a_long_one_as_counted_pieces(kept: float, time: float) -> None:
    solution = solved_at({"unevenness": 13.0, "ripple": 12.0, "swing_time": kept, "weighing_time": time})
    share = solution[trials.swing_part] / solution[trials.slow_swing]
    assert 0 < share < 1
    # As if the time held so many independent pieces, each two swing times long: too many, since ends overlap.
    assert share <= math.sqrt(2 * kept / time) * (1 + 1e-9)
    if time > 300 * kept:
        assert share == pytest.approx(math.sqrt(2 * kept / time), rel=0.01)


# --- power


def power_by_hand(d: float, n: float, k: int, confidence: float) -> float:
    """Power from Poisson's mixture of beta laws, for two screws that also from the noncentral t by quadrature."""
    between, within = k - 1, k * (n - 1)
    critical = stats.f.ppf(confidence, between, within)
    j = np.arange(0, 4000)
    weight = stats.poisson.pmf(j, n * d**2 / 4)
    share = between * critical / (between * critical + within)
    return float(1 - (weight * special.betainc(between / 2 + j, within / 2, share)).sum())


@pytest.mark.outside("trials.trial_power", by="Poisson mixture of beta laws, and quadrature over spreads")
@given(d=st.floats(0.05, 6), n=st.integers(2, 100), k=st.integers(2, 10), confidence=st.floats(0.5, 0.999))
def test_power_is_that_of_the_mixture(d: float, n: int, k: int, confidence: float) -> None:
    (power,) = shown_in(
        solved_at({"effect_ratio": d, "weighings": n, "screws_compared": k, "confidence_wanted": 100 * confidence}),
        "trial_power",
    )
    assert power / 100 == pytest.approx(power_by_hand(d, n, k, confidence), abs=1e-9)
    if k == 2:
        freedom, away = 2 * (n - 1), d * math.sqrt(n / 2)
        t = stats.t.ppf((1 + confidence) / 2, freedom)

        def beyond(s: float) -> float:
            chance = special.ndtr(away - t * s) + special.ndtr(-away - t * s)
            return float(chance * stats.chi.pdf(s * math.sqrt(freedom), freedom) * math.sqrt(freedom))

        reach = 8 / math.sqrt(2 * freedom)
        both = quad(beyond, max(0.0, 1 - reach), 1 + reach, limit=400, epsabs=1e-10)[0]
        assert power / 100 == pytest.approx(both, abs=1e-6)


@pytest.mark.parametrize(("n", "k", "d"), [(5, 2, 2.0), (8, 4, 1.5)])
def test_power_is_how_often_simulated_trials_show_the_difference(n: int, k: int, d: float) -> None:
    means = np.array([0, d, *[d / 2] * (k - 2)])
    weighed = means[None, :, None] + np.random.default_rng(9).standard_normal((40_000, k, n))
    chance = stats.f_oneway(*np.moveaxis(weighed, 1, 0), axis=-1).pvalue
    assert power_of_trial(d, n, k, 0.95) == pytest.approx((chance < 0.05).mean(), abs=0.008)


@pytest.mark.slow
@pytest.mark.outside(
    "trials.weighings_needed", "trials.detectable_ratio", "trials.smallest_difference", by="the power of what they give"
)
@given(d=st.floats(0.03, 2.5), k=st.integers(2, 10), confidence=st.floats(0.8, 0.99), power=st.floats(0.5, 0.99))
def test_weighings_needed_have_the_power_wanted(d: float, k: int, confidence: float, power: float) -> None:
    given_ = {
        "effect_ratio": d,
        "screws_compared": k,
        "confidence_wanted": 100 * confidence,
        "power_wanted": 100 * power,
    }
    (needed,) = shown_in(solved_at(given_), "weighings_needed")
    if needed > 2:
        assert power_by_hand(d, needed, k, confidence) == pytest.approx(power, abs=1e-6)
    else:
        assert power_by_hand(d, 2, k, confidence) >= power - 1e-9
    told, shown = shown_in(
        solved_at({**given_, "weighings": max(needed, 2.0), "weighing_spread": 4.0}),
        "detectable_ratio smallest_difference",
    )
    assert power_by_hand(told, max(needed, 2.0), k, confidence) == pytest.approx(power, abs=1e-6)
    assert shown == pytest.approx(4 * told, rel=1e-12)


@given(d=st.floats(0.02, 20), n=st.floats(2, 100), k=st.integers(2, 10), more=st.floats(1.01, 3))
def test_power_grows_with_all_that_should_help(d: float, n: float, k: int, more: float) -> None:
    power = power_of_trial(d, n, k, 0.95)
    assert 0.05 - 1e-9 <= power <= 1
    assert power_of_trial(d * more, n, k, 0.95) >= power - 1e-12
    assert power_of_trial(d, n * more, k, 0.95) >= power - 1e-12
    assert power_of_trial(d, n, k, 0.99) <= power + 1e-12
    assert power_of_trial(d, n, k + 1, 0.95) <= power + 0.35 * (n < 4)  # more screws also tell more of the spread


@given(d=st.floats(0.05, 4), confidence=st.floats(0.8, 0.999), power=st.floats(0.3, 0.99))
def test_blocks_have_the_power_of_students_test_of_differences(d: float, confidence: float, power: float) -> None:
    """By the noncentral t law, both sides."""
    needed = float(blocks_for(d, confidence, power))
    bound, away = stats.t.ppf((1 + confidence) / 2, needed - 1), d * math.sqrt(needed)
    shown = stats.nct.sf(bound, needed - 1, away) + stats.nct.cdf(-bound, needed - 1, away)
    assert power_of_blocks(d, needed, confidence) == pytest.approx(shown, abs=1e-6)
    assert shown == pytest.approx(power, abs=1e-6) if needed > 2 else shown >= power - 1e-6


def test_blocks_show_a_difference_as_often_as_planned() -> None:
    random = np.random.default_rng(14)
    apart = random.normal(1.2, 1.0, (20000, 8))
    shown = stats.ttest_1samp(apart, 0.0, axis=1).pvalue < 0.05
    assert power_of_blocks(1.2, 8, 0.95) == pytest.approx(shown.mean(), abs=0.01)
    assert math.isinf(blocks_for(0.0, 0.95, 0.8)) and math.isnan(blocks_for(math.nan, 0.95, 0.8))
    assert blocks_for(100.0, 0.95, 0.8) == 2.0


def test_ends_of_power() -> None:
    assert power_of_trial(0.0, 7, 3, 0.9) == pytest.approx(0.1)
    assert power_of_trial(1e9, 2, 2, 0.999) == 1.0
    assert power_of_trial(40.0, 60, 10, 0.95) == 1.0
    assert math.isinf(weighings_for(0.0, 2, 0.95, 0.8)) and weighings_for(100.0, 2, 0.95, 0.8) == 2.0
    assert math.isnan(power_of_trial(math.nan, 7, 3, 0.9)) and math.isnan(weighings_for(math.nan, 2, 0.9, 0.8))
    assert math.isnan(ratio_told(math.nan, 2, 0.9, 0.8))
    # No hole anywhere: where a law has no number the answer is plain.
    grid = power_of_trial(np.geomspace(0.01, 1e4, 4000), 57, 3, 0.95)
    assert np.isfinite(grid).all() and (np.diff(grid) >= -1e-12).all()


# --- many looks


@pytest.mark.outside(
    "trials.false_alarm", "trials.pairs", "trials.first_confidence", by="simulated screws that are all alike, NumPy"
)
@pytest.mark.parametrize("k", [3, 5])
def test_false_alarms_are_those_of_simulated_alike_screws(k: int) -> None:
    """With weighings of its own for each pair the formula is exact; with shared ones the true chance is less."""
    pairs, alarm, first = shown_in(
        solved_at({"screws_compared": k, "confidence_wanted": 95.0}), "pairs false_alarm first_confidence"
    )
    sides = [(i, j) for i in range(k) for j in range(i)]
    assert pairs == len(sides)
    random = np.random.default_rng(k)
    own = np.abs(random.standard_normal((200_000, len(sides))))
    assert alarm / 100 == pytest.approx((own.max(axis=1) > stats.norm.ppf(0.975)).mean(), abs=0.004)
    shared = random.standard_normal((200_000, k))
    apart = np.max([np.abs(shared[:, i] - shared[:, j]) for i, j in sides], axis=0) / math.sqrt(2)
    assert 0.6 * alarm / 100 < (apart > stats.norm.ppf(0.975)).mean() < alarm / 100
    # At the first step after Holm fewer than one trial in twenty calls any pair different.
    assert 0.03 < (apart > stats.norm.ppf((1 + first / 100) / 2)).mean() <= 0.051


@pytest.mark.outside("trials.trial_time", "trials.trial_mass", by="weighings added up one by one")
def test_a_trial_takes_the_sum_of_its_weighings() -> None:
    solution = solved_at(
        {"weighings": 7, "screws_compared": 3, "weighing_time": 90.0, "wanted_flow": 2.0, "solid_density": 1100.0}
    )
    time = mass = 0.0
    for _ in range(21):
        time, mass = time + 90.0, mass + 2e-9 * 1100 * 90
    assert solution[trials.trial_time] == pytest.approx(time) and solution[trials.trial_mass] == pytest.approx(mass)


@pytest.mark.outside("trials.plug_test_ratio", by="balance of slices of the plug, scipy.integrate.solve_ivp")
@pytest.mark.parametrize(("friction", "ratio"), [(0.35, 0.4), (0.2, 0.8)])
def test_a_pushed_plug_needs_what_the_balance_of_its_slices_says(friction: float, ratio: float) -> None:
    bore, length = 0.008, 0.012

    def along(_: float, pressure: np.ndarray[Any, Any]) -> np.ndarray[Any, Any]:
        return friction * ratio * pressure * math.pi * bore / (math.pi / 4 * bore**2)

    end = solve_ivp(along, (0, length), [1.0], rtol=1e-10, atol=1e-12).y[0, -1]
    found = solved_at(
        {"friction_barrel": friction, "radial_stress_ratio": ratio, "plug_test_length": 12.0, "bore_diameter": 8.0}
    )
    assert found[trials.plug_test_ratio] == pytest.approx(end, rel=1e-8)


# --- what the chapter promises


def test_rule_of_thumb_for_the_weighings() -> None:
    """Two screws, 95 % and 80 %, differences of a fifth to one and a half standard deviations: within 3 %."""
    ratio = np.linspace(0.2, 1.5, 461)
    needed, rule = weighings_for(ratio, 2, 0.95, 0.8), figures.thumb(ratio)
    assert (np.abs(rule / needed - 1) < 0.03).all()
    # For three screws a fifth more, for six three fifths more, for ten twice as many.
    for k, low, high in ((3, 1.15, 1.25), (6, 1.5, 1.65), (10, 1.8, 2.0)):
        more = weighings_for(ratio, k, 0.95, 0.8) / rule
        assert low < more.min() and more.max() < high


def named_as_different(screws: int, weighed: int, apart: float) -> float:
    """How often the two outermost of ``screws``, the others midway, are named by Welch's test and Holm's steps."""
    random, trials_made = np.random.default_rng(7), 8000
    true = np.zeros(screws)
    true[[0, -1]] = -apart / 2, apart / 2
    means = true + random.normal(size=(trials_made, screws)) / math.sqrt(weighed)
    squares = random.chisquare(weighed - 1, size=(trials_made, screws)) / (weighed - 1) / weighed
    one, other = np.triu_indices(screws, 1)
    both = squares[:, one] + squares[:, other]
    freedom = both**2 * (weighed - 1) / (squares[:, one] ** 2 + squares[:, other] ** 2)
    chance = 2 * stats.t.sf(np.abs(means[:, one] - means[:, other]) / np.sqrt(both), freedom)
    order = np.argsort(chance, axis=1)
    step = 0.05 / (one.size - np.arange(one.size))
    stands = np.logical_and.accumulate(np.take_along_axis(chance, order, 1) <= step, axis=1)
    outermost = np.flatnonzero((one == 0) & (other == screws - 1))[0]
    return float(stands[order == outermost].mean())


def test_pair_by_pair_a_plan_names_the_screws_as_often_as_told() -> None:
    said = words_of(trials.SUBJECT)
    told = r"names the two that differ most in (\d+) to (\d+) % of trials where it comes to thirty weighings of each, "
    ((low, high, least, most),) = re.findall(told + r"and in (\d+) to (\d+) % where it comes to ten", said)
    for weighed, ends in ((30, (low, high)), (10, (least, most))):
        found = {k: 100 * named_as_different(k, weighed, float(ratio_told(weighed, k, 0.95, 0.8))) for k in (3, 5, 10)}
        assert found[3] == pytest.approx(float(ends[1]), abs=1.5)
        assert min(found.values()) == pytest.approx(float(ends[0]), abs=1.5)
        # A quarter more of each.
        for k in found:
            more = named_as_different(k, math.ceil(1.25 * weighed), float(ratio_told(weighed, k, 0.95, 0.8)))
            assert more > 0.79
    for weighed in (5, 10):
        assert named_as_different(2, weighed, float(ratio_told(weighed, 2, 0.95, 0.8))) > 0.77


def test_many_short_weighings_tell_more_than_one_long_one_of_the_same_plastic() -> None:
    """Half an hour of otter: the mean of ten is a third better than one weighing, and sixty gain little more."""
    otter = BOTH[0][1].solution
    counts = np.array([1.0, 10.0, 60.0])
    (spread,) = otter.sweep([trials.weighing_spread], [trials.weighing_time])(1800 / counts)
    one, ten, sixty = 100 * spread / np.sqrt(counts)
    assert one == pytest.approx(1.93, abs=0.01) and ten == pytest.approx(1.30, abs=0.01)
    assert sixty == pytest.approx(1.25, abs=0.01)


def test_places_to_break_the_chapter() -> None:
    few = changed("otter", weighings=2, effect_wanted=10)
    assert few.solution[trials.trial_power] < 0.5
    short = changed("otter", weighing_time=20)
    assert "so few turns are no mean yet" in "\n".join(str(w) for w in short.solution.warnings)
    coarse = changed("wren", weighing_time=10)
    assert coarse.solution[trials.measuring_share] > 0.85


# --- pictures


@pytest.mark.parametrize("picture", pictures_of("trials"), ids=lambda picture: picture.title)
@pytest.mark.parametrize(
    "changes",
    [
        {"weighings": 2},
        {"weighings": 100, "effect_wanted": 100},
        {"weighing_time": 2},
        {"weighing_time": 3600},
        {"effect_wanted": 0.2, "screws_compared": 10},
    ],
    ids=str,
)
def test_pictures_draw_at_the_ends_of_the_sliders(picture: Any, changes: dict[str, float]) -> None:
    for name in ("otter", "wren"):
        drawn = picture.scene(changed(name, **changes).solution)
        assert "<svg" in drawn.svg() and drawn.alt


@each_build
def test_the_area_beyond_the_bound_is_the_power(build: Build) -> None:
    place, alike, differ, bound = curves_of_trial(build.solution)
    power, confidence = build.solution[trials.trial_power], build.solution[trials.confidence_wanted]
    fine = np.linspace(bound, place[-1], 20_001)
    area = [float(np.trapezoid(np.interp(fine, place, density), fine)) for density in (alike, differ)]
    assert area[1] == pytest.approx(power, abs=0.01) and area[0] == pytest.approx(1 - confidence, abs=0.003)


@each_build
def test_bars_are_as_long_as_the_squares_and_add_up(build: Build) -> None:
    squares = squares_over_time(build.solution)
    spread = build.solution.sweep([trials.weighing_spread], [trials.weighing_time])(
        np.array([factor for factor, _ in TIMES]) * build.solution[trials.weighing_time]
    )[0]
    np.testing.assert_allclose(squares.sum(axis=0), spread**2, rtol=1e-9)
    scene = draw_parts(build.solution)
    outlines = [shape for shape in scene.shapes if isinstance(shape, Outline) and shape.style == "grain"][: len(TIMES)]
    long = [float(np.ptp(shape.points[:, 0])) for shape in outlines]
    np.testing.assert_allclose(np.array(long) / long[0], squares[0] / squares[0, 0], rtol=1e-6)


@pytest.mark.slow
def test_figures_show_what_was_computed() -> None:
    both = [(name, build.solution) for name, build in BOTH]
    assert "from" in figures.draw_one_screw("otter", both[0][1]).alt
    for drawn in (figures.draw_over_time(both), figures.draw_needed(both)):
        for name, _ in both:
            assert f"{name}:" in drawn.alt
    assert both[1][1].text(trials.weighings_needed) in figures.draw_needed(both).alt
    assert "10 of 180 s: one scatters by 4.1 %, their mean by 1.3" in figures.draw_cuts(both[0][1], 1800).alt
    # Three alike groups at a studentized range of root 2 times 1.96: by simulation, apart from the library.
    random = np.random.default_rng(5).standard_normal((400_000, 3))
    three = 100 * float((np.ptp(random, axis=1) > math.sqrt(2) * 1.959964).mean())
    assert f"3 screws 14 and {three:.0f} %, 4 screws 26 and 20 %" in figures.draw_looks(both[0][1]).alt


def test_one_screw_against_itself_scatters_by_its_spread() -> None:
    apart = figures.differences_of_one(0.04, 4, 40_000, 1)
    assert apart.std() == pytest.approx(0.04 * math.sqrt(2 / 4), rel=0.03)
    assert figures.differences_of_one(0.04, 4, 5, 1) == pytest.approx(figures.differences_of_one(0.04, 4, 5, 1))


@pytest.mark.parametrize(("difference", "enough"), [(0.12, False), (0.13, True)])
def test_three_weighings_are_enough_for_a_little_more_than_three_spreads(difference: float, enough: bool) -> None:
    planned = changed("otter", weighings=3, effect_wanted=100 * difference).solution
    assert (planned[trials.trial_power] > 0.8) == enough


def test_figures_in_the_text_are_those_of_the_builds() -> None:
    """The exercise on weighings gives the spread that the page shows, and the guessed swing times are told as given."""
    said, solutions = words_of(trials.SUBJECT), [build.solution for _, build in BOTH]
    (spread,) = re.findall(r"\*Otter\* scatters by ([\d.]+) % a weighing", said)
    assert float(spread) == pytest.approx(solutions[0].shown(trials.weighing_spread), abs=0.05)
    ((slow, fast),) = re.findall(r"\*Otter\*'s (\d+) s and \*wren\*'s (\d+) s are guesses", said)
    assert [float(slow), float(fast)] == pytest.approx([one.shown(trials.swing_time) for one in solutions])
