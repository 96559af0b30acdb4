"""Trials that teach the model: simulated ones whose truth is known, and spreads left as Monte Carlo knows them."""

import math
from dataclasses import replace

import numpy as np
import pytest
from augerbook.builds.build import Build, Entry
from augerbook.builds.shipped import read_build, shipped_build
from augerbook.chapters import whole_head
from augerbook.chapters.conveying import grip_reserve
from augerbook.chapters.operating import needed_torque, turn_at_work
from augerbook.chapters.plate import plate_stress_share
from augerbook.chapters.trials import plug_test_ratio, turn_mass, weighing_spread
from augerbook.deciding.calibrating import (
    KINDS,
    Calibrated,
    Trial,
    calibrate,
    calibrated_in_steps,
    prior_of,
    rank_trials,
    results_at,
    uncertain_of,
    usual_of,
    weighed,
)
from augerbook.deciding.comparing import compare
from augerbook.deciding.draws import triangle
from augerbook.deciding.trial_pictures import draw_narrowed, draw_ranking, draw_weighings
from augerbook.deciding.weighings import read_weighings
from augerbook.head.feedstock import radial_stress_ratio, solid_density
from augerbook.head.screw import friction_screw
from augerbook.head.trials import weighings
from augerbook.head.tube import bore_diameter, friction_barrel
from augerbook.settle import estimated_at_rest
from scipy.integrate import quad

from tests.builds.seven import SEVEN

pytestmark = pytest.mark.slow
Q = whole_head().quantities


@pytest.fixture(scope="module")
def otter() -> Build:
    return shipped_build("otter")


@pytest.fixture
def half_the_draws(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where what is asked is told by half of them: each head at work takes a millisecond and a half."""
    monkeypatch.setattr("augerbook.deciding.calibrating._LEARNING", 8)


def of(found: Calibrated, key: str):
    return next(one for one in found.narrowed if one.quantity.key == key)


def test_the_prior_is_the_triangle_of_the_spread(otter: Build) -> None:
    for quantity in (friction_screw, friction_barrel):
        low, high = otter.ends[quantity]
        known = triangle(low, otter.values[quantity], high)
        assert prior_of(otter, quantity) == pytest.approx((known.mean(), known.std()))


def test_a_tilted_plane_narrows_its_friction_as_two_measurements_together(otter: Build) -> None:
    """Two measurements of one number: weights are one over the squares. Nothing else is told."""
    mean, deviation = prior_of(otter, friction_screw)
    found = calibrate(otter, [Trial("tilted plane", friction_screw, 0.34, 0.03)])
    one = of(found, "friction_screw")
    weights = np.array([deviation**-2, 0.03**-2])
    # The friction counts by its logarithm, which bends two bell curves a little.
    assert one.after == pytest.approx((weights * [mean, 0.34]).sum() / weights.sum(), rel=0.01)
    assert one.deviation == pytest.approx(weights.sum() ** -0.5, rel=0.05)
    assert one.told and one.by == ("tilted plane",) and found.surprises == ()
    assert [n.quantity.key for n in found.narrowed if n.told] == ["friction_screw"]


@pytest.mark.parametrize(("seen", "scatter"), [(0.34, 0.03), (0.3, 0.01), (0.42, 0.02)])
def test_a_tilted_plane_leaves_what_quadrature_says(otter: Build, seen: float, scatter: float) -> None:
    """The triangle of the spread times the bell curve of the measurement, integrated."""
    low, high = otter.ends[friction_screw]
    prior, mode = triangle(low, otter.values[friction_screw], high), otter.values[friction_screw]

    def moment(power: int) -> float:
        def counted(x: float) -> float:
            return x**power * prior.pdf(x) * math.exp(-0.5 * ((x - seen) / scatter) ** 2)

        return quad(counted, low, high, points=[mode, seen], epsabs=1e-12)[0]

    mean = moment(1) / moment(0)
    deviation = math.sqrt(moment(2) / moment(0) - mean**2)
    one = of(calibrate(otter, [Trial("tilted plane", friction_screw, seen, scatter)]), "friction_screw")
    # Four times what a thousand draws are off by chance.
    assert one.after == pytest.approx(mean, abs=4 * deviation / math.sqrt(1000))
    assert one.deviation == pytest.approx(deviation, rel=4 / math.sqrt(2000))


def test_a_pushed_plug_leaves_what_a_grid_says(otter: Build) -> None:
    """Two inputs of which only the product is told, each with its triangle, added up on a grid."""
    asked = (radial_stress_ratio, friction_barrel)
    axes = [np.linspace(*otter.ends[q], 1201)[1:-1] for q in asked]
    priors = [triangle(*_ends(otter, q)).pdf(axis) for q, axis in zip(asked, axes, strict=True)]
    ratio, friction = np.meshgrid(*axes, indexing="ij")
    force = np.exp(4 * friction * ratio * otter.values[plug_length()] / otter.values[bore_diameter])
    counts = np.outer(*priors) * np.exp(-0.5 * ((force - 1.9) / 0.1) ** 2)
    counts /= counts.sum()
    means = np.array([(counts * x).sum() for x in (ratio, friction)])
    apart = [x - mean for x, mean in zip((ratio, friction), means, strict=True)]
    covariance = np.array([[(counts * a * b).sum() for a in apart] for b in apart])
    found = calibrate(otter, [Trial("pushed plug", plug_test_ratio, 1.9, 0.1)])
    assert tuple(one.quantity for one in found.narrowed) == asked, "nothing else can be told by it"
    deviation = np.sqrt(covariance.diagonal())
    after = np.array([one.after for one in found.narrowed])
    np.testing.assert_allclose((after - means) / deviation, 0, atol=4 / math.sqrt(1000))
    np.testing.assert_allclose((found.covariance - covariance) / np.outer(deviation, deviation), 0, atol=0.18)


def test_the_same_trials_teach_the_same_and_a_stop_teaches_nothing(otter: Build) -> None:
    plug = [Trial("pushed plug", plug_test_ratio, 1.9, 0.1)]
    one, other = calibrate(otter, plug), calibrate(otter, plug)
    assert one.narrowed == other.narrowed and one.build.toml() == other.build.toml()
    *before, last = calibrated_in_steps(otter, plug)
    assert len(before) > 5 and all(step.found is None for step in before)
    assert last.found is not None and last.found.narrowed == one.narrowed and last.done == last.of


def test_the_build_keeps_what_was_learnt_and_can_be_posted(otter: Build) -> None:
    found = calibrate(otter, [Trial("tilted plane", friction_screw, 0.34, 0.03)])
    entry, one = found.build.entries[friction_screw], of(found, "friction_screw")
    assert entry.nominal == pytest.approx(one.after)
    assert prior_of(found.build, friction_screw) == pytest.approx((one.after, one.deviation), rel=1e-9)
    assert "from trials (tilted plane: friction on the screw)" in found.build.note
    again = read_build(found.build.toml())
    assert again.values[friction_screw] == pytest.approx(one.after) and "tilted plane" in again.note
    assert found.build.entries[friction_barrel] == otter.entries[friction_barrel]


def test_a_pushed_plug_tells_two_inputs_together_and_says_so(otter: Build) -> None:
    """Only their product enters, so that the other direction keeps all of its spread."""
    product = 4 * otter.values[plug_length()] / otter.values[bore_diameter]
    found = calibrate(otter, [Trial("pushed plug", plug_test_ratio, math.exp(product * 0.15), 0.02)])
    friction, ratio = of(found, "friction_barrel"), of(found, "radial_stress_ratio")
    assert friction.after * ratio.after == pytest.approx(0.15, rel=0.02)
    assert "radial stress ratio and friction on the bore are known together" in found.tied and "falls" in found.tied
    places = [[n.quantity for n in found.narrowed].index(q) for q in (friction_barrel, radial_stress_ratio)]
    along = np.array([1 / friction.after, 1 / ratio.after])
    spread = found.covariance[np.ix_(places, places)]
    # Of the product next to nothing is left, of the quotient much.
    assert math.sqrt(along @ spread @ along) < 0.05 < math.sqrt((along * [1, -1]) @ spread @ (along * [1, -1]))


def plug_length():
    return Q["plug_test_length"]


def test_slopes_at_work_are_those_of_a_settled_build(otter: Build) -> None:
    """Two heads beside each other, as whoever settles a build by hand would find them."""
    moved = {friction_screw: np.array([0.28, 0.30])}
    together = results_at(otter, [turn_at_work, needed_torque, friction_screw], moved)
    for place, value in enumerate((0.28, 0.30)):
        from augerbook.settle import settled

        alone = settled(otter.with_value(friction_screw, value), rounds=16).solution
        assert together[0, place] == pytest.approx(alone[turn_at_work], rel=1e-4)
        assert together[1, place] == pytest.approx(alone[needed_torque], rel=1e-4)
    np.testing.assert_allclose(together[2], [0.28, 0.30])


@pytest.mark.parametrize("seed", range(3))
@pytest.mark.usefixtures("half_the_draws")
def test_simulated_trials_recover_what_they_were_simulated_with(otter: Build, seed: int) -> None:
    """Truth drawn from the spreads; each told input within three deviations, all together as far off as they say."""
    random = np.random.default_rng(seed)
    kinds = [k for k in KINDS if k.quantity in (turn_mass, plug_test_ratio, friction_screw, friction_barrel)]
    inputs = uncertain_of(otter, [k.quantity for k in kinds])
    truth = {q: np.array([triangle(*_ends(otter, q)).rvs(random_state=random)]) for q in inputs}
    right = results_at(otter, [k.quantity for k in kinds], truth)[:, 0]
    assert np.isfinite(right).all()
    trials = [
        Trial(k.name, k.quantity, r * (1 + k.usual * random.standard_normal()), k.usual * r)
        for k, r in zip(kinds, right, strict=True)
    ]
    found = calibrate(otter, trials)
    off = np.array([(n.after - truth[n.quantity][0]) for n in found.narrowed])
    assert all(abs(x) < 3.3 * n.deviation for x, n in zip(off, found.narrowed, strict=True) if n.told)
    # The squared distance in the covariance that is stated follows chi-squared, nearly.
    scale = np.array([n.before_deviation for n in found.narrowed])
    square = (off / scale) @ np.linalg.solve(found.covariance / np.outer(scale, scale), off / scale)
    assert 0.2 * len(off) < square < 2.5 * len(off)
    assert of(found, "friction_screw").told and of(found, "friction_screw").left < 0.6


def _ends(build: Build, quantity):
    low, high = build.ends[quantity]
    return low, build.values[quantity], high


@pytest.mark.usefixtures("half_the_draws")
def test_more_trials_never_widen_and_a_sharper_one_narrows_more(otter: Build) -> None:
    plane = Trial("tilted plane", friction_screw, 0.3, 0.03)
    weighed = Trial("weighing", turn_at_work, otter.solution[turn_at_work], 0.02 * otter.solution[turn_at_work])
    one, both = calibrate(otter, [plane]), calibrate(otter, [plane, weighed])
    assert of(both, "friction_screw").deviation <= of(one, "friction_screw").deviation * 1.001
    assert of(both, "friction_screw").by[0] == "tilted plane"
    sharp = calibrate(otter, [Trial("tilted plane", friction_screw, 0.3, 0.01)])
    assert of(sharp, "friction_screw").deviation < of(one, "friction_screw").deviation
    blind = calibrate(otter, [Trial("tilted plane", friction_screw, 0.3, 10.0)])
    assert not of(blind, "friction_screw").told and blind.build == otter


def test_what_the_build_did_not_let_expect_is_said(otter: Build) -> None:
    found = calibrate(otter, [Trial("tilted plane", friction_screw, 0.75, 0.02)])
    assert (
        "tilted plane: 0.750 is not what the build led one to expect" in found.surprises[0]
        and "standard deviations" in found.surprises[0]
    )
    assert found.surprises[0].count("0.") >= 3  # what the draws give, from where to where


@pytest.mark.usefixtures("half_the_draws")
def test_a_head_that_conveys_in_the_other_way_is_not_fitted_from_this_side(otter: Build) -> None:
    """In a tenth of the draws the ring comes along, and a turn brings three times as much: no slope leads there."""
    inputs = uncertain_of(otter, [turn_at_work])
    random = np.random.default_rng(11)
    truth = {q: triangle(*_ends(otter, q)).rvs(60, random_state=random) for q in inputs}
    right = results_at(otter, [turn_at_work], truth)[0]
    other = np.flatnonzero(right > 15e-9)
    assert 3 <= other.size <= 12 and otter.solution[turn_at_work] < 9e-9
    weighing = Trial("weighing", turn_at_work, right[other[0]], 0.0125 * right[other[0]])
    found = calibrate(otter, [weighing])
    fitted = {one.quantity: np.array([one.after]) for one in found.narrowed}
    again = results_at(otter, [turn_at_work], fitted)[0, 0]
    assert abs(again - weighing.measured) < 3 * weighing.deviation
    # It is a matter of the ring, not of a screw far more slippery than any draw.
    assert of(found, "friction_screw").after > 0.2 and found.surprises == ()


def test_what_no_head_gives_teaches_nothing_and_says_why(otter: Build) -> None:
    """Ten times as much as the build lets expect, far more than either way of conveying brings."""
    weighing = Trial("weighing", turn_at_work, 10 * otter.solution[turn_at_work], 0.02 * otter.solution[turn_at_work])
    with pytest.raises(ValueError, match=r"weighing gave 79\.\d .* and the nearest head .* standard deviations away"):
        calibrate(otter, [weighing])


@pytest.mark.parametrize(
    ("trials", "says"),
    [
        ([], "no trial was made"),
        ([Trial("plane", friction_screw, 0.3, 0.0)], "a scatter above zero"),
        ([Trial("plane", friction_screw, math.nan, 0.1)], "give a finite number"),
        ([Trial("stress", plate_stress_share, 0.3, 0.1)], "nothing that these trials depend on has a spread"),
        ([Trial("weighing", turn_at_work, 1e-3, 1e-12)], "gives what was measured"),
    ],
)
def test_trials_that_teach_nothing_are_refused(otter: Build, trials: list[Trial], says: str) -> None:
    build = otter
    if says.startswith("nothing"):
        build = Build(**{**vars_of(otter), "entries": {q: Entry(e.nominal) for q, e in otter.entries.items()}})
    with pytest.raises(ValueError, match=says):
        calibrate(build, trials)


def vars_of(build: Build):
    return build.__getstate__()


def test_a_build_without_the_inputs_says_what_is_missing() -> None:
    bare = read_build(
        'format = 1\nname = "bare"\n[screw]\nfriction_screw = { nominal = "0.3", low = "0.2", high = "0.4" }\n'
    )
    with pytest.raises(ValueError, match="needs"):
        calibrate(bare, [Trial("weighing", turn_at_work, 8e-9, 1e-10)])
    found = calibrate(bare, [Trial("tilted plane", friction_screw, 0.31, 0.02)])
    assert of(found, "friction_screw").told


@pytest.fixture(scope="module")
def heads(otter: Build) -> dict:
    """Heads of random draws, not those of the library, at work."""
    asked = [grip_reserve, Q["unevenness"], Q["tube_stress_share"], *(kind.quantity for kind in KINDS)]
    inputs = uncertain_of(otter, asked)
    random = np.random.default_rng(3)
    drawn = {q: triangle(*_ends(otter, q)).rvs(2048, random_state=random) for q in inputs}
    return dict(zip(asked, results_at(otter, asked, drawn), strict=True))


def _in_groups(heads: dict, key, kind, usual: float) -> np.ndarray:
    """A result in groups of 32 heads whose simulated trials came out nearly alike: they differ by what is left."""
    result, seen = heads[key], heads[kind.quantity]
    sound = np.isfinite(result) & np.isfinite(seen)
    result, seen = result[sound], seen[sound]
    brought = seen * (1 + usual * np.random.default_rng(4).standard_normal(len(seen)))
    order = np.argsort(brought)
    return result[order][: len(order) // 32 * 32].reshape(-1, 32)


@pytest.mark.parametrize("key", ["grip_reserve", "tube_stress_share"])
def test_the_ranking_is_what_a_crowd_of_heads_leaves(otter: Build, heads: dict, key: str) -> None:
    """Heads whose trials came out alike still differ by what the ranking says, and hold as often as it says."""
    ranked = rank_trials(otter, Q[key])
    assert [one.left for one in ranked] == sorted(one.left for one in ranked) and len(ranked) == len(KINDS)
    margin = next(m for m in otter.network.margins.values() if m.quantity is Q[key])
    limit = margin.quantity.si(margin.limit)
    for kind in KINDS:
        groups = _in_groups(heads, Q[key], kind, usual_of(otter, kind))
        left = math.sqrt(groups.var(axis=1, ddof=1).mean() / groups.var())
        said = next(one for one in ranked if one.name == kind.name)
        assert said.left == pytest.approx(min(left, 1.0), abs=0.06), kind.name
        held = ((groups >= limit) if margin.more_is_better else (groups <= limit)).mean(axis=1)
        assert said.holds == pytest.approx(held.mean(), abs=0.04), kind.name
        # A group of 32 seems surer than it is, by up to the scatter of its share.
        assert said.right == pytest.approx(np.maximum(held, 1 - held).mean(), abs=0.06), kind.name


def test_what_is_far_from_linear_is_ranked_too(otter: Build, heads: dict) -> None:
    """Where the ring comes along the flow is far less even, and a weighing tells whether it does: no slope knows."""
    ranked = rank_trials(otter, Q["unevenness"])
    groups = _in_groups(heads, Q["unevenness"], KINDS[0], usual_of(otter, KINDS[0]))
    left = math.sqrt(groups.var(axis=1, ddof=1).mean() / groups.var())
    assert ranked[0].name == "weighing" and ranked[0].left < 0.9 and left < 0.9
    assert ranked[0].right > ranked[0].holds + 0.02 and ranked[0].turned > 0.02


def test_the_draws_of_the_last_build_are_kept_however_it_was_read(
    otter: Build, monkeypatch: pytest.MonkeyPatch
) -> None:
    rank_trials(otter, Q["tube_stress_share"], KINDS[:1])
    monkeypatch.setattr("augerbook.deciding.calibrating._Crowd", None)  # none is drawn any more
    again = read_build(otter.toml())
    assert rank_trials(again, Q["tube_stress_share"], KINDS[:1]) == rank_trials(
        otter, Q["tube_stress_share"], KINDS[:1]
    )


def test_holes_in_a_card_tell_of_dust_whose_strength_is_estimated() -> None:
    """One closed formula: the logarithms of the inputs add up, so that a hole narrows their sum as two measurements."""
    dusty = estimated_at_rest(read_build(SEVEN))
    hole, outlet = Q["card_hole"], Q["outlet_reserve"]
    first, second, *_ = rank_trials(dusty, outlet)
    assert first.name == "dust over holes in a card" and first.left < 0.9 < second.left
    assert first.most is not None and first.most[0] is Q["cohesion_scale"]
    found = calibrate(dusty, [Trial(first.name, hole, 9e-3, 0.15 * 9e-3)])
    assert [n.quantity.key for n in found.narrowed if n.told] == ["cohesion_scale"]
    before, after = dusty.solution[hole], found.build.solution[hole]
    assert abs(math.log(after / 9e-3)) < 0.5 < abs(math.log(before / 9e-3))


def test_a_trial_of_what_is_known_is_not_ranked(otter: Build) -> None:
    known = Build(**{**vars_of(otter), "entries": otter.entries | {Q["loose_density"]: Entry(420.0)}})
    for build, there in ((otter, True), (known, False)):
        assert ("dust over holes in a card" in [one.name for one in rank_trials(build, grip_reserve)]) == there


def test_a_trial_that_tells_nothing_leaves_all(otter: Build) -> None:
    blind = replace(KINDS[-1], usual=100.0)
    (told,) = rank_trials(otter, Q["tube_stress_share"], [blind])
    assert told.left > 0.99 and told.turned == 0.0
    assert told.right == pytest.approx(max(told.holds, 1 - told.holds), abs=0.02)


def test_two_weighings_that_agree_by_chance_do_not_teach_too_surely(otter: Build) -> None:
    head = "screw,mass [g],turns\n"
    few = compare(read_weighings(head + "A,0.550,57\nA,0.551,57\n")).screws[0]
    many = compare(read_weighings(head + "A,0.550,57\nA,0.551,57\n" * 25)).screws[0]
    expected = otter.solution[weighing_spread]
    trial = weighed(otter, few)
    square = (few.spread**2 + 2 * expected**2) / 3
    assert trial.deviation == pytest.approx(trial.measured * math.sqrt(square / 2))
    assert weighed(otter, many).deviation < 0.1 * trial.deviation
    unsure = compare(read_weighings(head + "A,0.55,57\nA,0.55,57\n"), balance_reading=1e-5).screws[0]
    assert weighed(otter, unsure).deviation > unsure.rounding


def test_a_weighing_tells_nothing_of_the_solid_density(otter: Build) -> None:
    """Denser plastic takes less room, and a turn brings the same mass of it."""
    wide = Entry(1240.0, 1000.0, 1480.0)
    unsure = replace(otter, entries={**otter.entries, solid_density: wide})
    mass = otter.solution[turn_mass]
    assert mass == pytest.approx(1240.0 * otter.solution[turn_at_work])
    both = results_at(unsure, [turn_mass, turn_at_work], {solid_density: np.array([1000.0, 1480.0])})
    assert both[0, 1] == pytest.approx(both[0, 0], rel=0.01) and both[1, 1] < 0.7 * both[1, 0]
    screw = compare(read_weighings("screw,mass [g],turns\n" + "A,0.480,50\nA,0.482,50\n" * 20)).screws[0]
    trial = weighed(unsure, screw)
    assert trial.quantity is turn_mass and trial.measured == pytest.approx(9.62e-6)
    found = calibrate(unsure, [trial])
    assert not any(one.told for one in found.narrowed if one.quantity is solid_density)
    assert of(found, "friction_screw").told and found.build.entries[solid_density] == wide


def test_a_weighing_is_ranked_with_the_scatter_of_the_planned_ones(otter: Build) -> None:
    weighing = next(kind for kind in KINDS if kind.name == "weighing")
    wren = shipped_build("wren")
    assert usual_of(wren, weighing) == pytest.approx(wren.solution[weighing_spread] / math.sqrt(5))
    assert usual_of(otter, weighing) < 0.015 < usual_of(wren, weighing)
    assert (
        usual_of(wren, KINDS[1]) == KINDS[1].usual
        and usual_of(replace(wren, entries={q: e for q, e in wren.entries.items() if q is not weighings}), weighing)
        == weighing.usual
    )
    (few,), (many,) = (rank_trials(one, grip_reserve, [weighing]) for one in (wren, wren.with_value(weighings, 100.0)))
    assert many.left < few.left - 0.02


def test_a_result_that_nothing_moves_cannot_be_ranked(otter: Build) -> None:
    still = Build(**{**vars_of(otter), "entries": {q: Entry(e.nominal) for q, e in otter.entries.items()}})
    with pytest.raises(ValueError, match="has a spread in this build"):
        rank_trials(still, grip_reserve)


def test_pictures_show_what_was_found(otter: Build) -> None:
    found = calibrate(otter, [Trial("tilted plane", friction_screw, 0.34, 0.03)])
    drawn = draw_narrowed([one for one in found.narrowed if one.told])
    assert (
        "friction on the screw: 0.317 give or take 0.05" in drawn.alt
        and "then 0.33" in drawn.alt
        and "<svg" in drawn.svg()
    )
    ranked = rank_trials(otter, grip_reserve)
    bars = draw_ranking(ranked, grip_reserve)
    assert f"{ranked[0].name}: {100 * ranked[0].left:.0f} % left" in bars.alt and "<svg" in bars.svg()
    trial = read_weighings(
        "screw,mass [g],turns\n" + "".join(f"A,{0.5 + 0.01 * (i % 3)},57\n" for i in range(8)) + "A,0.9,57\nB,0.4,57\n"
    )
    points = draw_weighings(trial, compare(trial))
    assert "A: 9 weighings, mean 9.688" in points.alt and "far from the rest 1" in points.alt
    assert "B: 1 weighings" in points.alt and "<svg" in points.svg()
