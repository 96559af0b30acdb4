"""Comparing screws against certified values, worked examples, and simulated trials whose truth is known."""

import itertools
import math
from dataclasses import replace
from importlib import resources
from pathlib import Path

import numpy as np
import pytest
from augerbook.core.units import number
from augerbook.deciding.comparing import (
    Compared,
    compare,
    drift,
    hedges,
    holm,
    ratio_interval,
    rounding_left,
    welch,
)
from augerbook.deciding.weighings import Weighings, invented_weighings, read_weighings
from hypothesis import given
from hypothesis import strategies as st
from scipy import optimize, stats

from tests.deciding.invented import SETS


def weighings_of(flows: dict[str, np.ndarray], *, by_turns: bool = True, minutes: float = 5.0) -> Weighings:
    """Weighings of 50 turns with masses (kg) that give these flows; by turns, or one screw after the other."""
    rows = [(name, x, i) for name, column in flows.items() for i, x in enumerate(column)]
    if by_turns:
        rows.sort(key=lambda row: row[2])
    count = len(rows)
    return Weighings(
        screw=tuple(name for name, _, _ in rows),
        mass=np.array([50 * x for _, x, _ in rows]),
        turns=np.full(count, 50.0),
        time=np.arange(count) * 60 * minutes,
        temperature=np.full(count, 478.0),
        hopper=("half",) * count,
        lines=tuple(range(2, count + 2)),
    )


def certified(name: str) -> str:
    """A data file of NIST's reference datasets, as it comes with SciPy's tests."""
    return Path(str(resources.files("scipy.stats") / "tests" / "data" / name)).read_text(encoding="utf-8")


# --- certified values


def test_analysis_of_variance_gives_the_certified_f() -> None:
    """SiRstv: five instruments, five readings of resistivity each; F certified with 15 digits."""
    text = certified("nist_anova/SiRstv.dat")
    rows = [line.split() for line in text.splitlines()[60:] if len(line.split()) == 2]
    flows = {
        instrument: np.array([float(y) for which, y in rows if which == instrument])
        for instrument in dict.fromkeys(which for which, _ in rows)
    }
    assert len(flows) == 5
    found = compare(weighings_of({name: 1e-6 * column for name, column in flows.items()}))
    assert found.f == pytest.approx(1.18046237440255, rel=1e-9)


def test_drift_gives_the_certified_slope() -> None:
    """Norris: a straight line through 36 points; slope and its standard deviation certified with 15 digits."""
    rows = [line.split() for line in certified("nist_linregress/Norris.dat").splitlines()[60:]]
    y, x = np.array([[float(cell) for cell in row] for row in rows if len(row) == 2]).T
    order = np.argsort(x, kind="stable")
    trial = weighings_of({"ozone": y[order]})
    trial = Weighings(**{**vars(trial), "time": x[order]})
    found = drift(trial, 0.95)
    assert found is not None and found.freedom == 34
    assert found.slope == pytest.approx(1.00211681802045, rel=1e-9)
    assert found.error == pytest.approx(0.429796848199937e-3, rel=1e-9)
    reach = stats.t.ppf(0.975, 34) * 0.429796848199937e-3
    assert (found.high - found.low) / 2 == pytest.approx(reach, rel=1e-9)


def test_welch_gives_the_published_car_mileages() -> None:
    """AUTO83B of the NIST/SEMATECH e-Handbook, 1.3.5.3: its figures, and those that Boost's manual prints for it."""
    found = welch((20.14458, 30.48101), (6.41470, 6.10771), (249, 79), 0.95)
    assert found.t == pytest.approx(12.94627, rel=2e-6)
    assert found.freedom == pytest.approx(136.875, rel=1e-5)
    assert found.chance == pytest.approx(1.571e-25, rel=1e-3)
    assert found.low > 0


def test_welch_is_scipys_own_on_single_weighings() -> None:
    random = np.random.default_rng(1)
    one, other = random.normal(10, 1, 7), random.normal(11, 3, 12)
    found = welch((one.mean(), other.mean()), (one.std(ddof=1), other.std(ddof=1)), (7, 12), 0.9)
    known = stats.ttest_ind(other, one, equal_var=False)
    assert (found.t, found.chance, found.freedom) == pytest.approx((known.statistic, known.pvalue, known.df))
    assert (found.low, found.high) == pytest.approx(tuple(known.confidence_interval(0.9)))


def test_holm_gives_the_textbook_example() -> None:
    """Chances 0.01, 0.04, 0.03, 0.005 at 5 %: the first and the last hold, the others do not (from memory)."""
    adjusted = holm([0.01, 0.04, 0.03, 0.005])
    assert adjusted == pytest.approx([0.03, 0.06, 0.06, 0.02])
    assert holm([]) == [] and holm([0.2]) == [0.2] and holm([0.9, 0.8]) == [1.0, 1.0]


@given(st.lists(st.floats(0, 1), min_size=1, max_size=6))
def test_holm_is_the_closure_of_bonferronis_test(chances: list[float]) -> None:
    """Each may be called different if every group of comparisons that holds it is, by its smallest chance."""
    places = range(len(chances))
    for place, adjusted in zip(places, holm(chances), strict=True):
        groups = (g for size in places for g in itertools.combinations(places, size + 1) if place in g)
        assert adjusted == pytest.approx(min(1.0, max(len(g) * min(chances[i] for i in g) for g in groups)), abs=1e-12)


def test_fieller_solves_his_own_equation() -> None:
    low, high = ratio_interval(10.0, 5.0, 0.2, math.sqrt(0.02), 1.96)
    assert low == pytest.approx(1.870024, rel=1e-6)
    for ratio in (low, high):
        assert (10 - ratio * 5) ** 2 == pytest.approx(1.96**2 * (0.04 + ratio**2 * 0.02), rel=1e-9)
    assert ratio_interval(10.0, 0.1, 0.2, 0.1, 2.0) == (-math.inf, math.inf)


def test_fiellers_interval_covers_the_ratio_as_often_as_it_says() -> None:
    random = np.random.default_rng(2)
    held = 0
    for a, b in zip(random.normal(3, 0.3, 4000), random.normal(2, 0.3, 4000), strict=True):
        low, high = ratio_interval(a, b, 0.3, 0.3, 1.96)
        held += low <= 1.5 <= high
    assert held / 4000 == pytest.approx(0.95, abs=0.012)


def test_hedges_takes_the_bias_out_of_the_effect() -> None:
    random = np.random.default_rng(3)
    found = []
    for _ in range(6000):
        one, other = random.normal(0, 1, 4), random.normal(1.2, 1, 4)
        found.append(hedges((one.mean(), other.mean()), (one.std(ddof=1), other.std(ddof=1)), (4, 4)))
    assert np.mean(found) == pytest.approx(1.2, abs=0.04)
    # Common approximation of the factor: 1 - 3 / (4 m - 1) with m degrees of freedom.
    assert hedges((0.0, 1.0), (1.0, 1.0), (10, 10)) == pytest.approx(1 - 3 / (4 * 18 - 1), rel=1e-3)


# --- simulated trials


def simulated(means: dict[str, float], spread: float, count: int, seed: int) -> Weighings:
    random = np.random.default_rng(seed)
    return weighings_of({n: 1e-5 * m * (1 + spread * random.standard_normal(count)) for n, m in means.items()})


@pytest.mark.slow
def test_alike_screws_are_called_different_as_seldom_as_the_confidence_says() -> None:
    wrong = sum(
        any(pair.chance < 0.05 for pair in compare(simulated(dict.fromkeys("ABCD", 1.0), 0.05, 6, seed)).pairs)
        for seed in range(400)
    )
    assert wrong / 400 < 0.05 + 3 * math.sqrt(0.05 * 0.95 / 400)
    assert wrong > 2


@pytest.mark.slow
def test_intervals_cover_the_truth_as_often_as_they_say() -> None:
    held = uneven = 0
    for seed in range(400):
        (pair,) = compare(simulated({"A": 1.0, "B": 1.06}, 0.05, 8, seed)).pairs
        held += pair.low <= 0.06 <= pair.high
        uneven += pair.unevenness_chance < 0.05
    assert held / 400 == pytest.approx(0.95, abs=0.033)
    assert uneven / 400 < 0.085


def test_a_more_even_screw_is_told_from_an_uneven_one() -> None:
    random = np.random.default_rng(5)
    trial = weighings_of({"even": 1e-5 * random.normal(1, 0.02, 25), "rough": 2e-5 * random.normal(1, 0.1, 25)})
    (pair,) = compare(trial).pairs
    assert pair.unevenness_chance < 0.01 and "even delivers more evenly" in pair.verdict


def test_drift_is_found_whatever_the_screws_bring() -> None:
    trial = simulated({"A": 1.0, "B": 1.4}, 0.01, 15, 1)
    hours = trial.time / 3600
    trial = Weighings(**{**vars(trial), "mass": trial.mass * (1 + 0.05 * hours)})
    found = compare(trial)
    assert found.drift is not None
    per_hour = found.drift.slope * 3600 / trial.per_turn.mean()
    assert per_hour == pytest.approx(0.05, abs=0.012)
    assert any("The flow rises by" in words for words in found.verdict)
    assert drift(Weighings(**{**vars(trial), "time": np.full(30, np.nan)}), 0.95) is None
    assert drift(Weighings(**{**vars(trial), "time": np.zeros(30)}), 0.95) is None
    assert drift(Weighings(**{**vars(trial), "time": np.full(30, 4321.1)}), 0.95) is None
    equal = drift(weighings_of({"A": np.full(7, 1.01e-5), "B": np.full(7, 1.13e-5)}), 0.95)
    assert equal is None


def test_the_balance_is_told_from_the_head() -> None:
    random = np.random.default_rng(6)
    step = 1e-5
    mass = 5e-4 + random.uniform(0, step, 4000)
    dish = random.uniform(0.01, 0.02, 4000)
    read = step * (np.round((dish + mass) / step) - np.round(dish / step))
    (screw,) = compare(weighings_of({"A": read / 50}), balance_reading=step).screws
    assert screw.spread > 1.5 * mass.std() / mass.mean()
    assert screw.spread_without_balance == pytest.approx(mass.std() / mass.mean(), rel=0.06)
    (coarse,) = compare(weighings_of({"A": read / 50}), balance_reading=3 * step).screws
    assert coarse.spread_without_balance == 0.0


@pytest.mark.slow
@pytest.mark.parametrize("scatter", [0.0, 0.01, 0.02, 0.05])
def test_the_truth_lies_within_though_the_balance_is_coarse(scatter: float) -> None:
    """Masses near 0.125 g on a balance that shows 0.01 g: a step is eight per cent, the true difference two."""
    random, step, held = np.random.default_rng(8), 1e-5, 0
    for _ in range(200):
        mass = 1.25e-4 * random.uniform(0.9, 1.1)
        read = {
            name: step * np.round(mass * truth * (1 + scatter * random.standard_normal(5)) / step)
            for name, truth in (("A", 1.0), ("B", 1.02))
        }
        trial = weighings_of({name: column / 50 for name, column in read.items()})
        pair = compare(trial, balance_reading=step).pairs[0]
        held += pair.low <= 0.02 <= pair.high
    assert held / 200 > 0.93


def test_without_scatter_all_of_the_rounding_is_left_and_with_a_step_of_it_nothing() -> None:
    assert rounding_left(0.0, 1.0) == 1.0 and rounding_left(1.0, 0.0) == 0.0
    assert rounding_left(math.sqrt(7.0), 1.0) < 1e-8  # a scatter as large as the step
    found = welch((1.0, 2.0), (0.0, 0.0), (4, 4), 0.95, (0.1, 0.1))
    assert found.high - found.low == pytest.approx(2 * 1.959964 * 0.1 * math.sqrt(2), rel=1e-5)


def test_equal_readings_of_a_coarse_balance_tell_nothing() -> None:
    flows = {"A": np.full(4, 0.12e-3) / 50, "B": np.full(4, 0.13e-3) / 50}
    words = verdict(compare(weighings_of(flows), balance_reading=1e-5))
    assert "Cannot tell A from B" in words and "The balance is too coarse to tell more" in words
    assert "B brings more than A" in verdict(compare(weighings_of(flows), balance_reading=1e-7))


def test_the_balance_is_not_blamed_for_what_one_screw_scatters() -> None:
    """A scatters by far less than a step, B by five of them: a finer balance would hardly narrow their difference."""
    blamed = 0
    for seed in range(40):
        random = np.random.default_rng(seed)
        mass = {"A": 0.55 * (1 + 0.003 * random.standard_normal(6)), "B": 0.56 * (1 + 0.08 * random.standard_normal(6))}
        trial = weighings_of({name: np.round(column, 2) * 1e-3 / 50 for name, column in mass.items()})
        blamed += "too coarse" in verdict(compare(trial, balance_reading=1e-5))
    assert blamed == 0


def test_readings_that_are_equal_scatter_below_the_step() -> None:
    """Turned into mass a turn, equal readings differ in the last bit: nobody wants to read 1.9e-14 %."""
    flows = {"A": np.array([0.57, 0.57, 0.57]) * 1e-3 / 57, "B": np.array([0.55, 0.58, 0.56]) * 1e-3 / 57}
    said = verdict(compare(weighings_of(flows), balance_reading=1e-5))
    assert "(less than the balance shows and 2.7 %)" in said and "e-" not in said


# --- weighings in blocks


def in_blocks(means: dict[str, float], spread: float, blocks: int, by_block: float, seed: int) -> Weighings:
    """Each screw once a block; what a block brings lies on all of its weighings."""
    random = np.random.default_rng(seed)
    level = by_block * random.standard_normal(blocks)
    flows = {n: 1e-5 * m * (1 + spread * random.standard_normal(blocks) + level) for n, m in means.items()}
    trial = weighings_of(flows)
    return replace(trial, block=tuple(str(i // len(means) + 1) for i in range(len(trial))))


@pytest.mark.parametrize("screws", ["AB", "ABCDE"])
def test_drift_is_told_by_mistake_as_seldom_as_said_in_blocks_too(screws: str) -> None:
    found = [in_blocks(dict.fromkeys(screws, 1.0), 0.03, 10, 0.04, seed) for seed in range(400)]
    drifts = [drift(one, 0.95) for one in found]
    wrong = sum(one is not None and not one.low <= 0 <= one.high for one in drifts)
    assert wrong / 400 == pytest.approx(0.05, abs=0.033)
    unnamed = [drift(replace(one, block=()), 0.95) for one in found]
    assert sum(one is not None and not one.low <= 0 <= one.high for one in unnamed) > 2 * wrong


def test_the_levels_of_screws_that_share_no_block_do_not_hide_the_drift() -> None:
    """An exact drift of a tenth an hour, and one screw to a block: it is found whatever the screws bring."""
    for names in ("AAAAABBBBB", "ABBABABBAA", "AAABBBCCAB"):
        minutes = np.arange(0, 100, 10)
        rows = "".join(
            f"{name},{t},{1 + 0.2 * (name == 'B') - 0.1 * t / 60:.12f},100,{t}\n"
            for name, t in zip(names, minutes, strict=True)
        )
        found = drift(read_weighings("screw,time [min],mass [g],turns,block\n" + rows), 0.95)
        assert found is not None and found.slope == pytest.approx(-0.1e-5 / 3600, rel=1e-6)
        assert found.freedom == 10 - len(set(names)) - 1


def test_drift_of_blocks_is_a_regression_on_screws_and_time() -> None:
    """As SciPy fits the means of the blocks, each with its share of every screw; some weighings are missing."""
    trial = without(in_blocks({"A": 1.0, "B": 1.1, "C": 0.9}, 0.02, 9, 0.03, 5), 4, 13, 26)
    rows = [[i for i, block in enumerate(trial.block) if block == one] for one in dict.fromkeys(trial.block)]
    # C's share is what is left by the others
    shares = np.array([[sum(trial.screw[i] == name for i in some) / len(some) for name in "AB"] for some in rows])
    hours, flow = (np.array([column[some].mean() for some in rows]) for column in (trial.time / 3600, trial.per_turn))

    def line(_: object, a: float, b: float, level: float, slope: float) -> np.ndarray:
        return shares @ np.array([a, b]) + level + slope * hours

    fitted, doubt = optimize.curve_fit(line, hours, 1e5 * flow, p0=(0.0, 0.0, 1.0, 0.0))
    found = drift(trial, 0.95)
    assert found is not None and found.freedom == 9 - 4
    assert found.slope * 3600e5 == pytest.approx(fitted[-1], rel=1e-5)
    assert found.error * 3600e5 == pytest.approx(math.sqrt(doubt[-1, -1]), rel=1e-5)
    assert found.high - found.low == pytest.approx(2 * stats.t.ppf(0.975, 5) * found.error)


@pytest.mark.slow
def test_the_interval_of_the_drift_covers_it_where_blocks_lack_screws() -> None:
    """A falling flow, one screw in the first six of ten blocks, the other in the last six."""
    held, hourly = 0, -1e-6
    gone = [i for i in range(20) if i in range(1, 8, 2) or i in range(12, 20, 2)]
    for seed in range(400):
        trial = without(in_blocks({"A": 1.0, "B": 1.05}, 0.02, 10, 0.02, seed), *gone)
        found = drift(replace(trial, mass=trial.mass + trial.turns * hourly * trial.time / 3600), 0.95)
        assert found is not None
        held += found.low <= hourly / 3600 <= found.high
    assert held / 400 == pytest.approx(0.95, abs=0.033)


@pytest.mark.slow
def test_screws_of_the_same_blocks_are_compared_block_by_block() -> None:
    """As Student's test of the differences does; what a block brings no longer widens the interval."""
    trial = in_blocks({"A": 1.0, "B": 1.05}, 0.02, 10, 0.08, 3)
    (pair,) = compare(trial).pairs
    flows = trial.by_screw()
    known = stats.ttest_rel(flows["B"], flows["A"])
    assert (pair.difference.t, pair.chance) == pytest.approx((known.statistic, known.pvalue))
    assert (pair.difference.low, pair.difference.high) == pytest.approx(tuple(known.confidence_interval(0.95)))
    (apart,) = compare(replace(trial, block=())).pairs
    assert pair.high - pair.low < 0.6 * (apart.high - apart.low)
    held = sum(
        (p := compare(in_blocks({"A": 1.0, "B": 1.05}, 0.02, 8, 0.05, seed)).pairs[0]).low <= 0.05 <= p.high
        for seed in range(300)
    )
    assert held / 300 == pytest.approx(0.95, abs=0.038)


def without(trial: Weighings, *places: int) -> Weighings:
    """The same trial as it is where these weighings were not made."""
    kept = [i for i in range(len(trial)) if i not in places]
    some = {name: getattr(trial, name)[kept] for name in ("mass", "turns", "time", "temperature")}
    words = {name: tuple(getattr(trial, name)[i] for i in kept) for name in ("screw", "hopper", "lines", "block")}
    return replace(trial, **some, **words)


def test_a_weighing_that_is_missing_takes_no_more_than_its_block() -> None:
    """The other blocks are compared as Student's test compares them, and the block left out is named."""
    trial = in_blocks({"A": 1.0, "B": 1.05}, 0.01, 6, 0.15, 3)
    flows = trial.by_screw()
    known = stats.ttest_rel(flows["B"][:5], flows["A"][:5])
    short = compare(without(trial, 11))
    (pair,) = short.pairs
    assert (pair.difference.t, pair.chance) == pytest.approx((known.statistic, known.pvalue))
    for end in (pair.low, pair.high):  # a ratio at the end of Fieller's interval is just refused
        refused = stats.ttest_1samp(flows["B"][:5] - (1 + end) * flows["A"][:5], 0.0)
        assert refused.pvalue == pytest.approx(0.05)
    gain = 100 * (flows["B"][:5].mean() / flows["A"][:5].mean() - 1)
    assert f"B brings more than A in a turn: {number(gain, 2)} % more" in pair.verdict
    assert "compared in the 5 blocks that hold both; block 6 is left out" in pair.verdict
    assert "left out" not in verdict(compare(trial))
    both = compare(without(trial, 3, 11)).pairs[0].verdict
    assert "compared in the 4 blocks that hold both; blocks 2, 6 are left out" in both


def test_a_name_of_a_block_that_is_missing_is_told() -> None:
    trial = in_blocks({"A": 1.0, "B": 1.05}, 0.01, 6, 0.15, 3)
    flows = trial.by_screw()
    found = compare(replace(trial, block=(*trial.block[:4], "", *trial.block[5:])))
    assert found.pairs[0].chance == pytest.approx(
        stats.ttest_rel(np.delete(flows["B"], 2), np.delete(flows["A"], 2)).pvalue
    )
    assert "What stands in line 6 names no block" in verdict(found) and "block 3 is left out" in verdict(found)
    assert found.screws[0].count == 6 and found.drift is not None and found.drift.freedom == 3
    assert "no block" not in verdict(compare(trial))
    two = compare(replace(trial, block=("", *trial.block[1:4], "", *trial.block[5:])))
    assert "What stands in lines 2, 6 names no block" in verdict(two)


@pytest.mark.slow
def test_what_blocks_cannot_tell_says_how_many_blocks_would() -> None:
    """What the blocks differ by falls out of the plan as it does out of the verdict."""
    trial = in_blocks({"A": 1.0, "B": 1.02}, 0.03, 6, 0.15, 8)
    words = verdict(compare(trial, worth_knowing=0.05))
    assert "Cannot tell A from B" in words
    wanted = int(words.split("About ")[1].split(" more blocks with both, read by themselves, would show")[0])
    assert "of all trials, if their differences scatter as these do" in words
    flows = trial.by_screw()
    scatter = (flows["B"] / flows["B"].mean() - flows["A"] / flows["A"].mean()).std(ddof=1) / math.sqrt(2)
    shown = [
        sum(
            compare(in_blocks({"A": 1.0, "B": 1.05}, scatter, blocks, 0.15, 100 + seed)).pairs[0].chance < 0.05
            for seed in range(300)
        )
        / 300
        for blocks in (wanted - 1, wanted)
    ]
    assert shown[0] < 0.8 + 0.05 and shown[1] == pytest.approx(0.8, abs=0.09)
    assert "more than 500 blocks with both" in verdict(compare(trial, worth_knowing=0.003))


def test_enough_blocks_that_cannot_tell_ask_for_a_narrower_interval() -> None:
    for seed in range(400):
        (pair,) = compare(in_blocks({"A": 1.0, "B": 1.025}, 0.03, 10, 0.1, seed), worth_knowing=0.05).pairs
        if "narrower" in pair.verdict:
            wanted = math.ceil(10 * ((pair.high - pair.low) / 0.05) ** 2)
            assert f"About {wanted} more blocks with both, read by themselves, would leave" in pair.verdict
            return
    raise AssertionError("no such trial was met")


@pytest.mark.slow
@pytest.mark.parametrize("scatter", [0.0, 0.01, 0.02, 0.05])
@pytest.mark.parametrize("blocks", [5, 20])
def test_the_truth_lies_within_though_the_balance_is_coarse_in_blocks_too(scatter: float, blocks: int) -> None:
    """As above: the blocks differ by more than a step, what the screws differ by within them is less."""
    random, step, held = np.random.default_rng(8), 1e-5, 0
    block = tuple(str(i // 2) for i in range(2 * blocks))
    for _ in range(200):
        level = 1.25e-4 * random.uniform(0.9, 1.1) * (1 + 0.15 * random.standard_normal(blocks))
        read = {
            name: step * np.round(level * truth * (1 + scatter * random.standard_normal(blocks)) / step)
            for name, truth in (("A", 1.0), ("B", 1.02))
        }
        trial = replace(weighings_of({name: column / 50 for name, column in read.items()}), block=block)
        pair = compare(trial, balance_reading=step).pairs[0]
        held += pair.low <= 0.02 <= pair.high
    assert held / 200 > 0.92


def test_equal_differences_within_blocks_tell_no_more_than_the_steps_of_the_balance() -> None:
    """Five differences of one step each: one of a part x of a step comes out so with a chance of x to the fifth."""
    mass, step = np.array([0.10, 0.14, 0.08, 0.12, 0.16]) * 1e-3, 1e-5
    block = tuple(str(i // 2) for i in range(10))
    trial = replace(weighings_of({"A": mass / 50, "B": (mass + step) / 50}), block=block)
    difference = compare(trial, balance_reading=step).pairs[0].difference
    least = 0.025 ** (1 / 5)
    assert (difference.low, difference.high) == pytest.approx((least * step / 50, (2 - least) * step / 50), rel=0.05)
    same = replace(weighings_of({"A": mass / 50, "B": mass / 50}), block=block)
    words = verdict(compare(same, balance_reading=step, worth_knowing=0.03))
    assert "Cannot tell A from B" in words and "The balance is too coarse to tell more" in words


def test_the_scatter_of_weighings_in_blocks_is_said_to_hold_the_blocks() -> None:
    trial = in_blocks({"A": 1.0, "B": 1.05}, 0.01, 6, 0.15, 3)
    a, b = (number(100 * screw.spread, 2) for screw in compare(trial).screws)
    assert f"({a} % and {b} %, with what the blocks differ by)" in verdict(compare(trial))
    assert "what the blocks differ by" not in verdict(compare(replace(trial, block=())))
    random = np.random.default_rng(5)
    uneven = weighings_of({"even": 1e-5 * random.normal(1, 0.02, 25), "rough": 2e-5 * random.normal(1, 0.1, 25)})
    said = verdict(compare(replace(uneven, block=tuple(str(i // 2) for i in range(50)))))
    assert "even delivers more evenly" in said and "%, with what the blocks differ by." in said


def test_blocks_that_never_hold_both_are_not_used_and_that_is_told() -> None:
    trial = in_blocks({"A": 1.0, "B": 1.05}, 0.01, 3, 0.0, 3)
    for block in (("1", "2", "1", "2", "1", "2"), ("1", "1", "", "", "", "")):
        found = compare(replace(trial, block=block))
        assert "Blocks are not used for this pair: fewer than two hold both." in verdict(found)
        apart = compare(replace(trial, block=())).pairs[0]
        assert (found.pairs[0].low, found.pairs[0].high) == (apart.low, apart.high)
    for block in ((), ("1",) * 6, ("",) * 6):
        assert "locks are not used" not in verdict(compare(replace(trial, block=block)))


@pytest.mark.slow
def test_several_weighings_of_one_start_count_once() -> None:
    """Each screw mounted once a block and weighed four times: what a mounting brings is no chance of a weighing."""
    random, held = np.random.default_rng(12), 0
    block = tuple(str(i // 8) for i in range(40))
    for _ in range(300):
        mounted = {name: random.normal(0, 0.03, 5) + mean for name, mean in (("A", 1.0), ("B", 1.05))}
        flows = {n: 1e-5 * (np.repeat(x, 4) + random.normal(0, 0.01, 20)) for n, x in mounted.items()}
        (pair,) = compare(replace(weighings_of(flows), block=block)).pairs
        held += pair.low <= 0.05 <= pair.high
    assert held / 300 == pytest.approx(0.95, abs=0.038)


# --- verdicts


def verdict(found: Compared) -> str:
    return " ".join(found.verdict)


def test_a_difference_is_said_with_its_interval_from_the_larger() -> None:
    for means in ({"A": 1.0, "B": 1.1}, {"B": 1.1, "A": 1.0}):
        found = compare(simulated(means, 0.01, 8, 2))
        assert "B brings more than A in a turn: " in verdict(found) and "% more, between" in verdict(found)
        low, high = (float(x) for x in verdict(found).split("between ")[1].split(" % at")[0].split(" % and "))
        assert 7 < low < 10 < high < 13
        means_found = sorted(screw.mean for screw in found.screws)
        gain = 100 * (means_found[1] / means_found[0] - 1)
        assert f"in a turn: {number(gain, 2)} % more" in verdict(found)


def test_no_difference_worth_knowing_is_said() -> None:
    found = compare(simulated({"A": 1.0, "B": 1.0}, 0.01, 12, 3), worth_knowing=0.05)
    assert "A and B bring the same in a turn, as far as it matters" in verdict(found)


@pytest.mark.slow
def test_what_cannot_be_told_says_how_many_more_would() -> None:
    found = compare(simulated({"A": 1.0, "B": 1.02}, 0.06, 4, 4), worth_knowing=0.05)
    words = verdict(found)
    assert "Cannot tell A from B" in words and "would show a difference of 5.0 % in 80 % of all trials" in words
    wanted = int(words.split("About ")[1].split(" more weighings of each, read by themselves")[0])
    spread = math.sqrt(sum(screw.spread**2 for screw in found.screws) / 2)
    shown = sum(
        compare(simulated({"A": 1.0, "B": 1.05}, spread, wanted, 100 + seed)).pairs[0].chance < 0.05
        for seed in range(300)
    )
    assert shown / 300 == pytest.approx(0.8, abs=0.09)


def test_hopeless_and_plain_cases_have_words_of_their_own() -> None:
    assert "would take more than 500 weighings of each" in verdict(
        compare(simulated({"A": 1.0, "B": 1.0}, 0.4, 4, 5), worth_knowing=0.01)
    )
    single = compare(weighings_of({"A": np.array([1e-5]), "B": np.array([1e-5, 1.1e-5])}))
    assert "A was weighed once: one weighing says nothing" in verdict(single) and not single.pairs
    assert math.isinf(single.screws[0].low) and math.isnan(single.f)
    alone = compare(weighings_of({"A": np.array([1e-5, 1.1e-5])}))
    assert "Only A was weighed" in verdict(alone)
    nothing = compare(weighings_of({"A": np.zeros(4), "B": 1e-5 * np.array([1, 1.1, 0.9, 1.0])}))
    assert "B brings more than A in a turn: A brought nothing. Look for the cause." in verdict(nothing)
    assert "any number" not in verdict(nothing) and "even" not in verdict(nothing)


@pytest.mark.parametrize("more", [1.0, 1.01, 1.2])
def test_equal_readings_without_a_step_of_the_balance_tell_nothing(more: float) -> None:
    """No difference is sure to the last digit: how sure it is, only the step of the balance tells."""
    same = np.full(5, 1e-5)
    trial = weighings_of({"A": same, "B": more * same})
    found = compare(trial)
    assert "Cannot tell A from B: these weighings set no bounds to their difference" in verdict(found)
    assert "All weighings of each screw are equal: give the step of the balance" in verdict(found)
    assert found.pairs[0].chance == 1.0 and math.isinf(found.screws[0].high) and "drift" not in verdict(found)
    assert "give the step" not in verdict(compare(trial, balance_reading=1e-7))


@pytest.mark.parametrize("by", [(1.0, 1e-6), (1.01, 0.0)])
def test_equal_differences_within_blocks_without_a_step_tell_nothing(by: tuple[float, float]) -> None:
    level = 1e-5 * np.array([1.0, 1.2, 0.9, 1.3])
    trial = weighings_of({"A": level, "B": by[0] * level + by[1]})
    trial = replace(trial, block=tuple(str(i // 2) for i in range(8)))
    found = compare(trial)
    assert found.pairs[0].chance == 1.0
    assert "All differences within the blocks are equal: give the step of the balance" in verdict(found)
    assert "give the step" not in verdict(compare(trial, balance_reading=1e-5))


def test_where_most_readings_are_equal_what_lies_far_is_named_too() -> None:
    equal = [0.12e-3 / 50] * 8
    assert compare(weighings_of({"A": np.array([*equal, 1.2e-3 / 50])}), balance_reading=1e-5).screws[0].outlying == (
        10,
    )
    one_step = weighings_of({"A": np.array([*equal, 0.13e-3 / 50])})
    assert compare(one_step).screws[0].outlying == (10,)
    assert compare(one_step, balance_reading=1e-5).screws[0].outlying == ()


@pytest.mark.slow
@pytest.mark.parametrize("count", [4, 6, 10, 20, 40, 200, 2000])
def test_sound_weighings_are_seldom_called_far_from_the_rest(count: int) -> None:
    random = np.random.default_rng(count)
    named = sum(
        bool(compare(weighings_of({"A": 1e-5 * (1 + 0.05 * random.standard_normal(count))})).screws[0].outlying)
        for _ in range(400)
    )
    assert 0 < named / 400 < 0.1


def test_a_pair_that_differs_alone_but_not_among_many_says_both() -> None:
    for seed in range(200):
        trial = simulated({"A": 1.0, "B": 1.05, "C": 1.01}, 0.05, 8, seed)
        pair = compare(trial, worth_knowing=0.03).pairs[0]
        if pair.low > 0 and pair.chance > 0.05:
            assert "this pair taken alone; but among 3 pairs one may look like that by chance" in pair.verdict
            return
    raise AssertionError("no such trial was met")


def test_a_difference_that_is_sure_but_small_says_that_it_is_small() -> None:
    trial = simulated({"A": 1.0, "B": 1.01}, 0.002, 20, 1)
    assert "That is less than the 5.0 % worth knowing." in verdict(compare(trial, worth_knowing=0.05))
    assert "worth knowing" not in verdict(compare(trial, worth_knowing=0.002))


@pytest.mark.slow
def test_a_difference_worth_knowing_is_called_small_as_seldom_as_the_confidence_says() -> None:
    """Six screws, nine pairs apart by a little more than what is worth knowing: one confidence for all."""
    truth = {name: 1.0 if name in "ABC" else 1.0525 for name in "ABCDEF"}
    wrong = alone = 0
    for seed in range(150):
        found = compare(simulated(truth, 0.02, 8, seed), worth_knowing=0.05)
        apart = [pair for pair in found.pairs if truth[pair.first] != truth[pair.second]]
        small = ("as far as it matters", "That is less than")
        wrong += any(words in pair.verdict for pair in apart for words in small)
        alone += any(pair.high < 0.05 for pair in apart)
    assert wrong / 150 < 0.05 < alone / 150


@pytest.mark.slow
def test_the_same_as_far_as_it_matters_holds_among_all_pairs() -> None:
    """Student's bound at a sixth of the level, for four screws; a pair that passes only alone says so."""
    passed = refused = 0
    for seed in range(30):
        for pair in compare(simulated(dict.fromkeys("ABCD", 1.0), 0.036, 8, seed), worth_knowing=0.05).pairs:
            if pair.chance < 0.05 or not -0.05 < pair.low < pair.high < 0.05:
                assert "as far as it matters" not in pair.verdict
                continue
            wider = stats.t.ppf(1 - 0.025 / 6, pair.difference.freedom) / stats.t.ppf(0.975, pair.difference.freedom)
            middle, half = (pair.low + pair.high) / 2, wider * (pair.high - pair.low) / 2
            if abs(abs(middle) + half - 0.05) < 0.002:  # too near to be judged without Fieller's quadratic
                continue
            same = abs(middle) + half < 0.05
            passed, refused = passed + same, refused + (not same)
            assert ("as far as it matters" in pair.verdict) == same
            assert ("but among 6 pairs one may look like that by chance" in pair.verdict) == (not same)
    assert passed > 3 and refused > 3


def test_enough_weighings_that_cannot_tell_ask_for_a_narrower_interval() -> None:
    for seed in range(400):
        found = compare(simulated({"A": 1.0, "B": 1.025}, 0.04, 12, seed), worth_knowing=0.05)
        if "narrower" in verdict(found):
            pair = found.pairs[0]
            assert pair.low < 0 < 0.05 < pair.high
            wanted = math.ceil(12 * ((pair.high - pair.low) / 0.05) ** 2)  # one pair: its own interval is the verdict's
            assert f"About {wanted} more weighings of each, read by themselves, would leave an interval" in pair.verdict
            return
    raise AssertionError("no such trial was met")


def test_a_narrower_interval_is_one_at_the_level_of_all_pairs() -> None:
    """Of four screws the verdict judges six pairs: an interval of one alone that is narrower would not tell."""
    for seed in range(100):
        found = compare(simulated({"A": 1.0, "B": 1.025, "C": 1.01, "D": 1.01}, 0.05, 30, seed), worth_knowing=0.05)
        for pair in found.pairs:
            if "narrower" in pair.verdict:
                wanted = int(pair.verdict.split("About ")[1].split(" more")[0])
                wider = (stats.t.ppf(1 - 0.025 / 6, 58) / stats.t.ppf(0.975, 58)) ** 2
                own = 30 * ((pair.high - pair.low) / 0.05) ** 2
                assert wanted == pytest.approx(own * wider, rel=0.02) and wider > 1.7
                return
    raise AssertionError("no such trial was met")


def test_screws_weighed_one_after_the_other_are_told() -> None:
    flows = {name: 1e-5 * (1 + 0.02 * np.random.default_rng(3).standard_normal(6)) for name in "ABC"}
    apart = verdict(compare(weighings_of(flows, by_turns=False)))
    assert "A and B were weighed one after the other, and so were 2 more pairs" in apart
    assert "one after the other" not in verdict(compare(weighings_of(flows)))


def test_no_drift_is_said_only_where_none_that_matters_is_left() -> None:
    short = simulated({"A": 1.0, "B": 1.0}, 0.03, 6, 2)
    assert "Whether the flow drifts cannot be told" in verdict(compare(short, worth_knowing=0.01))
    assert "No drift that matters" in verdict(compare(short, worth_knowing=0.2))


def test_what_lies_far_is_named_and_counts() -> None:
    flow = 1e-5 * np.array([1.0, 1.01, 0.99, 1.02, 0.98, 1.0, 1.01, 1.6])
    found = compare(weighings_of({"A": flow, "B": 1e-5 * np.array([1.0, 1.01, 0.99, 1.02, 0.98, 1.0, 1.01, 0.99])}))
    assert found.screws[0].outlying == (16,) and found.screws[1].outlying == ()
    assert found.screws[0].mean == pytest.approx(flow.mean()) and found.screws[0].count == 8
    assert "A: what stands in line 16 lies far from the rest; it counts all the same" in verdict(found)


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        ({"confidence": 1.0}, "between 0 and 1"),
        ({"power": 0.0}, "between 0 and 1"),
        ({"worth_knowing": 0.0}, "above zero"),
    ],
)
def test_what_makes_no_sense_is_refused(wrong: dict[str, float], says: str) -> None:
    with pytest.raises(ValueError, match=says):
        compare(simulated({"A": 1.0, "B": 1.0}, 0.05, 3, 1), **wrong)


def test_the_invented_sets_are_read_as_they_were_made() -> None:
    made = {one.name: one for one in SETS}
    differ = compare(invented_weighings("two_screws_differ"), balance_reading=1e-5)
    first, second = made["two_screws_differ"].means.values()
    assert differ.pairs[0].low < second / first - 1 < differ.pairs[0].high and differ.pairs[0].chance < 0.05
    assert "coach polished brings more than coach as bought" in verdict(differ)
    alike = compare(invented_weighings("two_screws_alike"), balance_reading=1e-5)
    assert alike.pairs[0].low < 0 < alike.pairs[0].high and "Cannot tell screw A from screw B" in verdict(alike)


def test_weighings_that_brought_nothing_are_judged_and_not_divided_by() -> None:
    rows = "".join(f"{screw},{minute},0,100\n" for minute, screw in enumerate("aabbb"))
    said = compare(read_weighings("screw,time [min],mass [g],turns\n" + rows)).verdict
    assert said and not any("drift" in line.lower() for line in said)


def test_one_name_in_two_spellings_is_told() -> None:
    flows = {name: 1e-5 * (1 + 0.02 * np.random.default_rng(3).standard_normal(4)) for name in ("Coach", "coach")}
    assert "Coach and coach count as 2 screws." in verdict(compare(weighings_of(flows)))
