"""Candidates, draws, studies and what they say, on toys whose answers are known, and on a real head once."""

import multiprocessing
import os
import signal
import tracemalloc
from concurrent.futures import Executor, Future, ProcessPoolExecutor, ThreadPoolExecutor
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from augerbook.builds.build import Build
from augerbook.builds.own_rows import columns_wanted
from augerbook.builds.shipped import shipped_build
from augerbook.chapters import whole_head
from augerbook.core.spread import spread
from augerbook.deciding import study as study_module
from augerbook.deciding.candidates import MOST_CANDIDATES, Candidate, crossed, differences, parts_changed, unanswered
from augerbook.deciding.deciders import deciders
from augerbook.deciding.draws import LEAST_POWER, draws, triangle
from augerbook.deciding.ranking import (
    COVERED,
    Aim,
    at_rest,
    chances,
    compared,
    front,
    out_of_reach,
    ranked,
    unbeaten,
    weakest,
)
from augerbook.deciding.study import Study, in_steps, outputs_of, pieces, run
from augerbook.deciding.work import Piece, Worked, work
from augerbook.head.drive import gear_ratio, stall_torque
from augerbook.settle import found_elsewhere, settled
from augerbook.tables import rows_typed
from distributed import Client, LocalCluster
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from tests.deciding.heads import ishigami, kettle_build, kettles, quantity
from tests.soak import examples

LEFT, ROOT, PUSH, DRAG, SIZE = (quantity(key) for key in ("left", "root", "push", "drag", "size"))
MARGINS = list(kettles().margins.values())


def studied(builds: dict[str, Build], power: int = 9, **more: Any) -> Study:
    candidates = [Candidate(name, build) for name, build in builds.items()]
    return run(candidates, draws(list(builds.values()), power=power), [LEFT, ROOT], **more)


BOTH = {
    "strong": kettle_build(push=22.0, drag_ends=(2.0, 18.0)),
    "weak": kettle_build(push=20.0, drag_ends=(2.0, 18.0)),
}


@pytest.mark.slow
def test_a_study_holds_little_more_than_its_results() -> None:
    """What is drawn of each candidate is made piece by piece: all of it at once took twice as much as all results."""
    otter = shipped_build("otter")
    drawn = draws([otter], power=9)
    candidates = [Candidate(str(place), otter) for place in range(200)]
    asked = [otter.network.quantities["unevenness"]]
    next(pieces(candidates, drawn, asked))  # what is imported and kept for good is no matter of the study
    tracemalloc.start()
    try:
        made = sum(len(next(iter(piece.columns.values()))) for piece in pieces(candidates, drawn, asked))
        _, most = tracemalloc.get_traced_memory()
    finally:
        tracemalloc.stop()
    every = 8 * made * len(drawn.uncertain)
    assert made == 200 * 513 and most < every / 4


def test_options_are_crossed_and_what_cannot_be_built_says_why() -> None:
    otter, head = shipped_build("otter"), whole_head()
    screw, bore = head.lookups["standard_screw"], head.quantities["bore_diameter"]
    made, refused = crossed(otter, {screw: ["DIN 7998 5", "DIN 7998 9"], bore: ["8 mm", "4,5 mm", "99 mm", "x"]})
    assert [one.name for one in made] == ["DIN 7998 5; bore diameter 8 mm"]
    assert made[0].build.names[screw] == "DIN 7998 5" and made[0].build.values[bore] == pytest.approx(0.008)
    reasons = {one.name: one.reason for one in refused}
    assert "must be smaller than" in reasons["DIN 7998 5; bore diameter 4,5 mm"]
    assert "outside the range" in reasons["DIN 7998 5; bore diameter 99 mm"]
    assert "number" in reasons["DIN 7998 5; bore diameter x"]
    assert "has no row 'DIN 7998 9'" in reasons["DIN 7998 9; bore diameter 8 mm"]
    assert len(made) + len(refused) == 8


def test_what_a_build_gives_of_its_motor_follows_the_gear_unless_it_is_varied_itself() -> None:
    otter = shipped_build("otter")
    made, refused = crossed(otter, {gear_ratio: ["5.18", "13.7"]})
    assert refused == ()
    torques = [one.build.values[stall_torque] for one in made]
    given = [found_elsewhere(one.build)[stall_torque] for one in made]
    assert torques[0] == otter.values[stall_torque] and torques[1] / torques[0] == pytest.approx(given[1] / given[0])
    assert made[1].build.ends[stall_torque][0] / torques[1] == pytest.approx(otter.ends[stall_torque][0] / torques[0])
    held, _ = crossed(otter, {gear_ratio: ["5.18", "13.7"], stall_torque: ["2 N*m"]})
    assert [one.build.values[stall_torque] for one in held] == [2.0, 2.0]


def test_too_many_candidates_are_refused_with_their_number() -> None:
    values = [f"{n / 1000} mm" for n in range(7000, 7400)]
    items = dict.fromkeys((SIZE, PUSH), values)
    with pytest.raises(ValueError, match=r"400 of size, 400 of push: that makes 160,000 candidates"):
        crossed(kettle_build(), items)
    with pytest.raises(ValueError, match="nothing to choose from"):
        crossed(kettle_build(), {SIZE: []})


def test_what_differs_is_said_once() -> None:
    otter, head = shipped_build("otter"), whole_head()
    (made,), _ = crossed(otter, {head.lookups["standard_screw"]: ["DIN 7998 5"]})
    assert list(differences(otter, made.build)) == ["standard screw: DIN 7998 6 to DIN 7998 5"]
    thicker = otter.with_value(head.quantities["plate_thickness"], 0.006)
    assert list(differences(otter, thicker)) == ["plate thickness: 5.00 mm to 6.00 mm"]


OWN = """name; major_diameter [mm]; core_diameter [mm]; pitch [mm]; flank_half_angle [deg]; crest_width [mm]
mine; 6.2; 4; 2.8; 30; 0.15
thick; 60; 4; 2.8; 30; 0.15
"""


def test_a_screw_of_ones_own_is_a_candidate_like_any_other() -> None:
    otter, screw = shipped_build("otter"), whole_head().lookups["standard_screw"]
    rows, faults = rows_typed(OWN, columns_wanted([screw]))
    assert not faults
    made, refused = crossed(otter, {screw: ["mine", "DIN 7998 5", "thick"]}, {screw: rows})
    assert [one.name for one in made] == ["mine", "DIN 7998 5"]
    major = whole_head().quantities["major_diameter"]
    assert made[0].build.values[major] == pytest.approx(6.2e-3) and screw not in made[0].build.names
    assert "standard screw: DIN 7998 6 to own values" in list(differences(otter, made[0].build))
    assert parts_changed(otter, made[0].build) == ("screw",) and parts_changed(otter, otter) == ()
    assert "its major diameter is 60.0 mm" in refused[0].reason


def test_a_sieve_that_a_build_does_not_answer_is_told() -> None:
    sieve = whole_head().quantities["sieve_mesh"]
    assert "come from a sieve table in this build" in unanswered(shipped_build("otter"), {sieve: ["1 mm"]})[0]
    assert unanswered(shipped_build("wren"), {sieve: ["1 mm"]}) == []
    assert unanswered(shipped_build("otter"), {SIZE: ["1 mm"]}) == []


@pytest.mark.slow
@given(st.integers(1, 40), st.integers(4, 6))
def test_pieces_hold_every_head_once_and_go_round_the_candidates(heads: int, power: int) -> None:
    candidates = [Candidate(name, build) for name, build in BOTH.items()]
    cut = list(pieces(candidates, draws(list(BOTH.values()), power=power), [LEFT], heads))
    assert [piece.place[0] for piece in cut] == [0, 1] * (len(cut) // 2)
    for row in (0, 1):
        sizes = [(piece.place[1], len(piece.columns[DRAG])) for piece in cut if piece.place[0] == row]
        assert sum(size for _, size in sizes) == 2**power + 1
        assert [start for start, _ in sizes] == np.cumsum([0, *(size for _, size in sizes[:-1])]).tolist()


@given(st.floats(0, 1), st.floats(-5, 5), st.floats(0.1, 5), st.floats(0.1, 5))
def test_draws_follow_the_triangle(place: float, mode: float, below: float, above: float) -> None:
    low, high = mode - below, mode + above
    value = float(triangle(low, mode, high).ppf(place))
    area = (
        (value - low) ** 2 / ((high - low) * below)
        if value < mode
        else 1 - (high - value) ** 2 / ((high - low) * above)
    )
    assert low <= value <= high and area == pytest.approx(place, abs=1e-6)


def test_the_same_seed_draws_the_same_and_candidates_share_their_draws() -> None:
    builds = [kettle_build(drag_ends=(2.0, 18.0)), kettle_build(drag_ends=(2.0, 18.0), push_ends=(10.0, 30.0))]
    one, again, other = (draws(builds, power=5, seed=seed) for seed in (1, 1, 2))
    np.testing.assert_array_equal(one.places, again.places)
    assert not np.array_equal(one.places, other.places)
    np.testing.assert_array_equal(one.of(builds[0])[DRAG], one.of(builds[1])[DRAG])
    assert PUSH not in one.of(builds[0]) and PUSH in one.of(builds[1])


def test_draws_need_something_uncertain() -> None:
    with pytest.raises(ValueError, match="no value has a spread"):
        draws([kettle_build()])
    with pytest.raises(ValueError, match="take a power of"):
        draws([kettle_build(drag_ends=(2.0, 18.0))], power=30)


def test_the_nominal_head_stands_first_and_draws_agree_with_linear_propagation() -> None:
    build = kettle_build(drag_ends=(9.0, 11.0), push_ends=(18.0, 22.0))
    found = studied({"one": build}, power=11)
    assert found.complete and found.nominal(LEFT)[0] == pytest.approx(40.0)
    drawn = found.of(LEFT)[0]
    assert drawn.mean() == pytest.approx(40.0, abs=0.02)
    # A triangle's variance is its half width squared over six; the core adds half widths in quadrature.
    around = spread(kettles(), LEFT, build.values, build.ends)
    assert drawn.std() == pytest.approx((around.high - around.low) / 2 / np.sqrt(6), rel=0.01)


def test_how_often_a_margin_holds_is_its_probability() -> None:
    found = studied(BOTH, power=11)
    for row, push in enumerate((22.0, 20.0)):
        lets = (3 * push - 10) / 2  # the drag at which the margin is reached
        expected = stats.triang(0.5, loc=2, scale=16).cdf(lets)
        chance = chances(found, MARGINS)[row]
        assert chance.share == pytest.approx(expected, abs=0.003)
        assert chance.bounds[0] <= expected <= chance.bounds[1]


def test_common_draws_tell_apart_what_single_ones_cannot() -> None:
    found = studied(BOTH)
    same = compared(found, 0, 1, Aim(LEFT, more_is_better=True))
    assert same.better.share == 1.0 and same.difference == pytest.approx((6.0, 6.0, 6.0))
    values = found.of(LEFT)
    shuffled = np.random.default_rng(3).permutation(values[1])
    assert 0.5 < (values[0] > shuffled).mean() < 0.9  # on grains of their own the weak one often seems better


def test_who_holds_beats_who_does_not() -> None:
    hard = kettle_build(push=8.0, drag_ends=(2.0, 18.0))
    found = studied({"holds": kettle_build(push=30.0, drag_ends=(2.0, 18.0)), "not always": hard})
    wins = compared(found, 0, 1, Aim(LEFT), MARGINS)  # less would be better, but it must hold first
    both = found.holds(MARGINS)[:, 1:]
    assert wins.better.came_true == int((both[0] & ~both[1]).sum()) and wins.better.draws == int(both.any(axis=0).sum())
    assert 0 < wins.better.share < 1
    # The one always holds and never has less: with it alone, or with both and the other ahead.
    assert (wins.other_alone, wins.ahead, wins.alike) == (0, 0, 0) and wins.alone + wins.together == len(both[0])
    assert str(wins) == f"holds alone in {wins.alone}, the other in 0; of {wins.together} with both better in 0"
    assert str(compared(found, 0, 0, Aim(LEFT), MARGINS)).endswith(f"better in 0, alike in {len(both[0])}")


def test_a_head_without_a_value_does_not_hold_and_is_kept() -> None:
    found = studied({"odd": kettle_build(push=8.0, drag_ends=(2.0, 18.0))})
    missing = np.isnan(found.of(ROOT)[0])
    assert 0.1 < missing.mean() < 0.9
    assert not found.holds(MARGINS)[0, 1:][found.of(LEFT)[0] < 10].any()
    (first, chance), *rest = weakest(found, MARGINS, 0)
    assert first is MARGINS[0] and 0 < chance.share < 1 and not rest


def test_stopping_keeps_what_is_done() -> None:
    told: list[tuple[int, int]] = []

    def heard(done: int, of: int) -> bool:
        told.append((done, of))
        return done < 2

    found = studied(BOTH, power=6, heads=16, heard=heard)
    assert told == [(1, 8), (2, 8)] and not found.complete
    # Both have their nominal head and the first 16 draws: what is compared is on the same draws.
    assert found.done[:, :17].all() and not found.done[:, 17:].any() and np.isnan(found.values[:, :, 17:]).all()
    assert [chance.draws for chance in chances(found, MARGINS)] == [16, 16]


def test_a_candidate_that_was_not_reached_says_so_and_leaves_the_others() -> None:
    found = studied(BOTH, power=6, heads=16, heard=lambda *_: False)
    first, second = chances(found, MARGINS)
    assert (first.draws, second.draws) == (16, 0) and str(second) == "no draws" and np.isnan(second.share)
    assert second.bounds == (0.0, 1.0)
    assert found.begun.tolist() == [True, False] and found.counted.sum() == 16


def test_nothing_done_counts_nothing() -> None:
    nothing = next(in_steps([Candidate("one", BOTH["weak"])], draws([BOTH["weak"]], power=4), [LEFT], heads=8)).study
    blank = replace(nothing, done=np.zeros_like(nothing.done))
    assert not blank.counted.any() and chances(blank, MARGINS)[0].draws == 0 and out_of_reach(blank, MARGINS) == []


def test_what_no_candidate_ever_holds_is_out_of_reach() -> None:
    hopeless = studied({"one": kettle_build(push=1.0, drag_ends=(2.0, 18.0)), "two": kettle_build(push=2.0)})
    assert out_of_reach(hopeless, MARGINS) == MARGINS
    assert out_of_reach(studied(BOTH), MARGINS) == []


def test_heads_at_rest_are_counted_apart_from_margins() -> None:
    found = studied({"strong": kettle_build(push=40.0, drag_ends=(2.0, 18.0))}, power=4)
    restless = replace(found, at_rest=np.zeros_like(found.at_rest))
    assert at_rest(found)[0].came_true == 16 and at_rest(restless)[0].came_true == 0
    assert chances(restless, MARGINS)[0].came_true == 0
    assert weakest(restless, MARGINS, 0) == []  # the margin itself holds in every draw


def test_a_study_too_large_for_memory_is_refused_with_its_size(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(study_module, "MOST_BYTES", 1000)
    with pytest.raises(ValueError, match=r"2 candidates with 512 draws and 2 results would take 0.0 GB"):
        studied(BOTH)
    with pytest.raises(ValueError, match="no candidate can be built"):
        run([], draws(list(BOTH.values())), [LEFT])


class Dying(ThreadPoolExecutor):
    """An executor one of whose workers dies."""

    def submit(self, function: Any, *given: Any, **more: Any) -> Future[Any]:
        if given and given[0].place == (0, 17):
            raise RuntimeError("the worker is gone")
        if given and given[0].place == (1, 0):
            return super().submit(_die)
        return super().submit(function, *given, **more)


def _die() -> Worked:
    raise MemoryError("no memory left")


@pytest.mark.parametrize("executor", [None, ThreadPoolExecutor(2), Dying(2)], ids=["here", "two threads", "dying"])
def test_any_executor_gives_the_same_numbers_and_a_dying_worker_loses_none(executor: Executor | None) -> None:
    alone = studied(BOTH, power=6, heads=16)
    found = studied(BOTH, power=6, heads=16, executor=executor)
    np.testing.assert_array_equal(found.values, alone.values)
    assert found.complete
    if isinstance(executor, Dying):
        assert found.lost == ("RuntimeError: the worker is gone", "MemoryError: no memory left")
    else:
        assert found.lost == ()


def killed_once(piece: Piece) -> Worked:
    """Kill the process that works, as the system does when memory runs out."""
    if piece.place[1] == 33 and multiprocessing.parent_process() is not None:
        os.kill(os.getpid(), signal.SIGKILL)
    return work(piece)


class Silent(ThreadPoolExecutor):
    """Takes all work, and never answers for some of it."""

    def submit(self, function: Any, /, *arguments: Any, **more: Any) -> Future[Any]:
        (piece,) = arguments
        return Future() if piece.place[1] == 33 else super().submit(function, *arguments, **more)


@pytest.mark.slow
def test_a_worker_that_never_answers_loses_no_result() -> None:
    with Silent(2) as executor:
        found = studied(BOTH, power=6, heads=16, executor=executor, patience=0.5)
    np.testing.assert_array_equal(found.values, studied(BOTH, power=6, heads=16).values)
    assert found.complete and found.lost == ("no answer for 0.5 s: 2 pieces are computed here",)


@pytest.mark.slow
def test_two_processes_one_of_which_is_killed_give_the_same_numbers(monkeypatch: pytest.MonkeyPatch) -> None:
    alone = studied(BOTH, power=6, heads=16)
    with ProcessPoolExecutor(2, mp_context=multiprocessing.get_context("spawn")) as pool:
        np.testing.assert_array_equal(studied(BOTH, power=6, heads=16, executor=pool).values, alone.values)
    monkeypatch.setattr(study_module, "work", killed_once)
    with ProcessPoolExecutor(2, mp_context=multiprocessing.get_context("spawn")) as pool:
        found = studied(BOTH, power=6, heads=16, executor=pool)
    np.testing.assert_array_equal(found.values, alone.values)
    assert found.lost and all("BrokenProcessPool" in words for words in found.lost)


@given(st.lists(st.tuples(st.integers(0, 4), st.integers(0, 4)), min_size=1, max_size=12))
def test_nobody_beats_the_unbeaten_and_somebody_the_rest(points: list[tuple[int, int]]) -> None:
    worths = np.array(points, dtype=float)
    for row, best in zip(worths, unbeaten(worths), strict=True):
        beaten = any((other >= row).all() and (other > row).any() for other in worths)
        assert best is not np.bool_(beaten)


def test_as_many_as_may_be_tried_at_once_are_judged() -> None:
    random = np.random.default_rng(1)
    worths = random.normal(size=(MOST_CANDIDATES, 2))
    held = random.random((MOST_CANDIDATES, 2**LEAST_POWER)) < 0.7
    best, order = unbeaten(worths), ranked(held, worths[:, 0])
    assert sorted(order) == list(range(MOST_CANDIDATES))
    assert best[worths.argmax(axis=0)].all() and best.sum() < 50


@pytest.mark.slow
@examples(30)
@given(st.integers(0, 10**6), st.integers(1, 30), st.integers(1, 60))
def test_each_place_is_taken_by_the_best_of_those_that_cannot_be_told_from_the_likeliest_left(
    seed: int, count: int, draws: int
) -> None:
    random = np.random.default_rng(seed)
    held = (random.random(draws) < random.random((count, 1))) ^ (random.random((count, draws)) < 0.05)
    worth = random.integers(0, 9, count).astype(float)
    left = sorted(range(count), key=lambda row: -held[row].sum())
    for taken in ranked(held, worth):
        told = (
            [(held[left[0]] & ~held[row]).sum() for row in left],
            [(held[row] & ~held[left[0]]).sum() for row in left],
        )
        alike = [
            row
            for row, ahead, behind in zip(left, *told, strict=True)
            if not ahead + behind or stats.binomtest(int(ahead), int(ahead + behind)).pvalue > 1 - COVERED
        ]
        assert taken == min(alike, key=lambda row: (-worth[row], -held[row].sum()))
        left.remove(taken)


def test_the_unlikely_and_the_unknown_are_not_on_the_front() -> None:
    found = studied(BOTH | {"none": kettle_build(push=1.0, drag_ends=(2.0, 18.0))})
    likely = np.array([0.9, 0.2, 0.9])
    worths = np.column_stack([found.nominal(LEFT), found.nominal(ROOT)])
    assert front(worths, likely).tolist() == [True, False, False]


def test_what_the_same_draws_cannot_tell_apart_is_ranked_by_the_aim() -> None:
    draws = np.arange(100)
    held = np.stack([draws < 90, draws % 50 < 46, draws < 10])
    assert ranked(held, np.array([2.0, 1.0, 9.0])) == [0, 1, 2]
    assert ranked(held, np.array([1.0, 2.0, 9.0])) == [1, 0, 2]
    assert ranked(held, np.array([np.nan, 2.0, 9.0])) == [1, 0, 2]


def test_draws_that_only_one_of_two_holds_tell_them_apart() -> None:
    """33 of 64 and 45 of 64 look alike each for itself; yet where the one always holds the other does too."""
    draws = np.arange(64)
    within = np.stack([draws < 33, draws < 45])
    assert stats.binomtest(0, 12, 0.5).pvalue < 0.001
    assert ranked(within, np.array([9.0, 1.0])) == [1, 0]
    across = np.stack([draws < 33, draws >= 19])  # 19 draws against 31
    assert stats.binomtest(19, 50, 0.5).pvalue > 0.05
    assert ranked(across, np.array([9.0, 1.0])) == [0, 1]


@pytest.mark.outside("choosing.deciders", by="Ishigami and Homma's shares in closed form")
def test_the_shares_of_ishigamis_function() -> None:
    # With a = 7, b = 0.1 the variance is a^2/8 + b pi^4/5 + b^2 pi^8/18 + 1/2; its parts are (1 + b pi^4/5)^2/2, a^2/8
    # and, of the first and third together, 8 b^2 pi^8/225.
    b, p4 = 0.1, np.pi**4
    parts = ((1 + b * p4 / 5) ** 2 / 2, 49 / 8, 0.0)
    together, whole = 8 * b**2 * p4**2 / 225, 49 / 8 + b * p4 / 5 + b**2 * p4**2 / 18 + 0.5
    build, result = ishigami()
    uniform = {"x1": 0, "x2": 1, "x3": 2}
    # The function is made for even spreads; the draws here are triangles, so hold the method, not the triangle.
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr("augerbook.deciding.deciders.triangle", lambda low, _, high: stats.uniform(low, high - low))
        found = {one.quantity.key: one for one in deciders(build, result, power=14, by_rank=False)}
    for key, place in uniform.items():
        assert found[key].first == pytest.approx(parts[place] / whole, abs=0.01)
        own = parts[place] + (together if key != "x2" else 0.0)
        assert found[key].total == pytest.approx(own / whole, abs=0.02)


def test_what_decides_a_sum_is_its_share_of_the_squares() -> None:
    build = kettle_build(drag_ends=(9.0, 11.0), push_ends=(18.0, 22.0))
    first, second = deciders(build, LEFT, power=8, by_rank=False)
    assert (first.quantity, second.quantity) == (PUSH, DRAG)
    assert first.total == pytest.approx(36 / 40, abs=0.02) and first.first == pytest.approx(36 / 40, abs=0.03)
    assert second.total == pytest.approx(4 / 40, abs=0.02)


def test_a_few_wild_values_do_not_decide_by_rank() -> None:
    """The root has no value where little is left; those draws count with the worst, and the rank stays tame."""
    build = kettle_build(push=9.0, drag_ends=(2.0, 18.0), push_ends=(8.5, 9.5))
    first, second = deciders(build, ROOT, more_is_better=True, power=8)
    assert (first.quantity, second.quantity) == (DRAG, PUSH) and 0.9 < first.total < 1.1
    assert 0 <= second.total < 0.1


def test_draws_without_a_value_count_with_the_worst() -> None:
    """A root that is missing where the drag is large: with the wrong end for the worst its share would be another."""
    build = kettle_build(push=9.0, drag_ends=(2.0, 18.0))
    high = deciders(build, ROOT, more_is_better=True, by_rank=False, power=8)[0]
    assert high.first == pytest.approx(1.0, abs=0.02) and high.total == pytest.approx(1.0, abs=0.02)


def test_small_inputs_may_be_left_at_their_values() -> None:
    build = kettle_build(drag_ends=(9.9, 10.1), push_ends=(10.0, 30.0))
    assert [one.quantity for one in deciders(build, LEFT, power=4)] == [PUSH, DRAG]
    assert [one.quantity for one in deciders(build, LEFT, power=4, least=0.01)] == [PUSH]


def test_nothing_uncertain_decides_nothing_and_says_so() -> None:
    with pytest.raises(ValueError, match="depends on nothing that has a spread"):
        deciders(kettle_build(size=0.02), LEFT)
    with pytest.raises(ValueError, match="stopped before"):
        deciders(kettle_build(drag_ends=(9.0, 11.0)), LEFT, heard=lambda *_: False)


@pytest.mark.slow
def test_a_real_head_is_the_same_as_on_its_page() -> None:
    otter, head = shipped_build("otter"), whole_head()
    margins = list(head.margins.values())
    made, _ = crossed(otter, {head.lookups["standard_screw"]: ["DIN 7998 6", "DIN 7998 5"]})
    found = run(made, draws([one.build for one in made], power=4), outputs_of(margins, []))
    for row, candidate in enumerate(made):
        at_rest = settled(candidate.build).solution
        for place, asked in enumerate(found.quantities):
            assert found.values[place, row, 0] == pytest.approx(at_rest[asked], rel=5e-3, nan_ok=True), asked


@pytest.mark.slow
def test_a_cluster_of_two_gives_the_same_numbers_when_a_worker_is_killed(monkeypatch: pytest.MonkeyPatch) -> None:
    alone = studied(BOTH, power=6, heads=16)
    with (
        LocalCluster(n_workers=2, threads_per_worker=1, dashboard_address=None) as cluster,
        Client(cluster) as client,
    ):
        found = studied(BOTH, power=6, heads=16, executor=client.get_executor())
        np.testing.assert_array_equal(found.values, alone.values)
        assert found.complete and found.lost == ()
        # The cluster itself starts workers anew and gives their pieces to others, until one piece has killed too many.
        monkeypatch.setattr(study_module, "work", killed_once)
        # A result can go with the worker that held it, and the cluster at times waits for it without end.
        again = studied(BOTH, power=6, heads=16, executor=client.get_executor(), patience=60.0)
    np.testing.assert_array_equal(again.values, alone.values)
    assert again.complete and any("KilledWorker" in words or "no answer" in words for words in again.lost)
