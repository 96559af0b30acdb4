"""Pictures of the operating point: they say what the solution says, at any slider's end, and when the plug slips."""

import math

import numpy as np
import pytest
from augerbook.builds.shipped import shipped_build
from augerbook.chapters import whole_head
from augerbook.chapters.conveying import cold_length
from augerbook.chapters.operating import (
    INPUTS,
    block_torque,
    blocked_thrust,
    hard_torque,
    needed_torque,
    operating_speed,
    operating_thrust,
    peak_pressure,
    plug_pressure,
    pump_alone_speed,
    push_reserve,
    soft_share,
    soft_torque,
    state_of,
    torn_stress,
)
from augerbook.chapters.operating.figures import (
    FIRST_SHARE,
    RoundsGraphs,
    draw_bands,
    draw_circles,
    draw_melt_alone,
    draw_stresses,
    draw_thrusts,
    draw_torques,
    melt_line,
    rounds_of,
    stresses_of,
    torque_band,
)
from augerbook.chapters.operating.graphs import OperatingGraphs, nozzle_line, over_flow, screw_line
from augerbook.chapters.operating.models import back_from_nozzle, forward_from_plug
from augerbook.chapters.operating.picture import NO_PLUG, SLIPS, UNDEFINED, pressures_of, why_none
from augerbook.chapters.pictures import pictures_of
from augerbook.chapters.thrust import nozzle_pressure, pressure_thrust, stall_thrust
from augerbook.core.network import Solution
from augerbook.core.quantity import Quantity
from augerbook.core.spread import monte_carlo, spread
from augerbook.head.drive import running_torque, stall_torque
from augerbook.head.heating import heated_length
from augerbook.head.plastic import shear_limit
from augerbook.head.printing import wanted_flow
from augerbook.head.tube import bore_diameter, tube_length
from augerbook.settle import settled
from scipy.optimize import brentq

from tests.chapters.solving import changed

QUANTITIES = whole_head().quantities
(PICTURE,) = pictures_of("operating")
BUILDS = ("otter", "wren")
#: Inputs that move what the pictures show most.
MOVING = [
    "bore_diameter", "pitch", "eccentricity", "friction_barrel", "friction_internal", "friction_screw",
    "radial_stress_ratio", "wanted_flow", "tube_length", "heated_length", "set_temperature", "room_temperature",
    "throat_temperature", "air_speed", "softening_temperature", "shear_limit", "zero_viscosity",
    "power_index", "nozzle_diameter", "running_torque", "screw_speed", "stall_torque",
]  # fmt: skip


def solve(name: str = "otter", **changes: float) -> Solution:
    """Solve a shipped build, with changes in the units shown to people."""
    build = shipped_build(name)
    changed = {QUANTITIES[key]: QUANTITIES[key].si(value) for key, value in changes.items()}
    return whole_head().solve(build.values | changed, build.choices)


def without_nan(text: str) -> bool:
    return "nan" not in text.lower() and "not defined" not in text


# --- forward and backward -------------------------------------------------------------------------


@pytest.mark.parametrize("name", BUILDS)
def test_forward_undoes_backward(name: str) -> None:
    """Whether the screw drags more ahead than flows or less, and whether plastic sticks, tears or slips."""
    solution = solve(name)
    factors = np.array([0.05, 0.3, 0.9, 1.0, 1.1, 2.0, 5.0])
    soft = state_of(*(solution[q] for q in INPUTS)).soft.of(np.zeros(factors.size, dtype=int))
    speed = solution[operating_speed] * factors
    rises = soft.drag_volume * speed > soft.flow
    assert rises.any() and not rises.all()
    for pressure in (1e4, 3e6):
        pressed = soft._replace(nozzle_pressure=np.full(factors.size, pressure))
        back = back_from_nozzle(pressed, speed)
        forward = forward_from_plug(pressed._replace(nozzle_pressure=np.full(factors.size, np.nan)), speed,
                                    back.pressure[:, 0])  # fmt: skip
        assert forward.pressure[:, -1] == pytest.approx(np.full(factors.size, pressure), rel=1e-6)
        for one, other in zip(forward, back, strict=True):
            assert one == pytest.approx(other, rel=1e-6, abs=1e-9)


@pytest.mark.parametrize("name", BUILDS)
def test_the_lines_meet_at_the_operating_point(name: str) -> None:
    solution = solve(name)
    flow, pressure = screw_line(solution)
    asked, asks = nozzle_line(solution)
    assert (np.diff(flow) <= 0).all() and (np.diff(pressure) >= 0).all()

    def apart(at: float) -> float:
        return float(np.interp(at, flow[::-1], pressure[::-1]) - np.interp(at, asked, asks))

    meets = brentq(apart, asked[0], asked[-1])
    assert meets == pytest.approx(solution[wanted_flow], rel=1e-3)
    assert np.interp(meets, asked, asks) == pytest.approx(solution[nozzle_pressure], rel=1e-3)


@pytest.mark.parametrize("name", BUILDS)
def test_speed_and_torque_over_the_flow_are_those_of_the_whole_head(name: str) -> None:
    flow, speed, torque = over_flow(solve(name))
    for place in (0, 4, -1):
        there = solve(name, wanted_flow=float(wanted_flow.shown(flow[place])))
        assert speed[place] == pytest.approx(there[operating_speed], rel=1e-6)
        assert torque[place] == pytest.approx(there[needed_torque], rel=1e-6)


# --- the section ----------------------------------------------------------------------------------


@pytest.mark.parametrize("name", BUILDS)
def test_the_curve_goes_from_throat_to_nozzle_without_steps(name: str) -> None:
    solution = solve(name)
    found = pressures_of(solution)
    assert found.plug[-1] == pytest.approx([solution[cold_length], solution[plug_pressure]])
    soft = np.vstack([part for part in found[1:] if len(part)])
    soft = soft[np.isfinite(soft[:, 0])]
    soft = soft[np.argsort(soft[:, 0], kind="stable")]
    assert soft[0] == pytest.approx(found.plug[-1], rel=1e-6)
    assert soft[-1] == pytest.approx(
        [solution[tube_length] + solution[heated_length], solution[nozzle_pressure]], rel=1e-6
    )
    assert max(found.plug[-1, 1], soft[:, 1].max()) == pytest.approx(solution[peak_pressure], rel=1e-6)
    # What is too cold to flow lies before what flows.
    assert np.nanmax(found.limited[:, 0]) <= np.nanmin(found.flowing[:, 0]) + 1e-12


def test_plastic_that_bears_more_shear_flows_from_further_up() -> None:
    begins = [pressures_of(solve(shear_limit=limit)).flowing[0, 0] for limit in (0.25, 0.5, 0.9)]
    assert begins == sorted(begins, reverse=True) and begins[0] > begins[-1]


@pytest.mark.parametrize("name", BUILDS)
def test_words_are_those_of_the_solution(name: str) -> None:
    solution = solve(name)
    alt = PICTURE.scene(solution).alt
    said: tuple[Quantity, ...] = (
        plug_pressure, peak_pressure, nozzle_pressure, operating_speed, needed_torque, operating_thrust, push_reserve,
        hard_torque, soft_torque, block_torque,
    )  # fmt: skip
    for quantity in said:
        assert quantity.text(solution[quantity]) in alt, quantity.key
    assert soft_share.text(solution[soft_share], digits=2) in alt
    alt = OperatingGraphs(solution)(solution).alt
    for quantity in (operating_speed, needed_torque, nozzle_pressure, wanted_flow):
        assert quantity.text(solution[quantity]) in alt, quantity.key


# --- no operating point -----------------------------------------------------------------------------


@pytest.mark.slow
@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"friction_barrel": 0.03}, SLIPS),
        ({"throat_temperature": 120.0}, NO_PLUG),
        ({"nozzle_pressure": math.nan}, UNDEFINED),
    ],
    ids=["slips", "no plug", "not defined"],
)
def test_without_an_operating_point_the_pictures_say_so(changes: dict[str, float], words: str) -> None:
    solution = solve(**changes)
    assert why_none(solution) == words
    drawn, plot = PICTURE.scene(solution), OperatingGraphs(solve())(solution)
    for shown in (drawn, plot):
        assert words in shown.alt and words in shown.svg()
        assert without_nan(shown.alt) and without_nan(shown.svg())
        assert shown.png().startswith(b"\x89PNG")
    assert "MPa" not in drawn.svg()


def test_a_screw_that_fills_the_bore_is_told() -> None:
    assert "no room for plastic" in PICTURE.scene(solve(softened_length=math.nan)).alt


def test_where_it_slips_at_more_flow_only_the_curves_end() -> None:
    all_slip, none_slips = 0.2, 0.4
    for _ in range(16):  # a wall so smooth that the plug holds at some flows only
        friction = (all_slip + none_slips) / 2
        solution = solve("wren", friction_barrel=friction)
        slips = np.isnan(over_flow(solution)[1])
        if slips.all():
            all_slip = friction
        elif not slips.any():
            none_slips = friction
        else:
            break
    assert 0 < slips.sum() < slips.size
    assert (slips == np.sort(slips)).all()
    assert "where the curves end the plug slips" in OperatingGraphs(solution)(solution).svg()


# --- sliders ----------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def plot() -> OperatingGraphs:
    """One for all sliders, as on a page: to set up a figure takes longer than all that is asked of it."""
    return OperatingGraphs(shipped_build("otter").solution)


@pytest.mark.slow
@pytest.mark.parametrize("key", MOVING)
def test_pictures_follow_every_slider_to_its_ends(plot: OperatingGraphs, key: str) -> None:
    otter, quantity = shipped_build("otter"), QUANTITIES[key]
    for end in (quantity.low, quantity.high):
        assert end is not None
        build = otter.with_value(quantity, float(quantity.si(end)))
        if build.clashes():
            continue
        for drawn in (PICTURE.scene(build.solution), plot(build.solution)):
            assert drawn.svg().startswith("<svg")
            assert without_nan(drawn.svg()) and without_nan(drawn.alt)


def test_a_measured_speed_is_drawn_as_it_is_given() -> None:
    solution = solve(operating_speed=25.0)
    assert "25.0 1/min" in PICTURE.scene(solution).alt
    assert "25.0 1/min" in OperatingGraphs(solution)(solution).alt


# --- figures of the chapter -------------------------------------------------------------------------


@pytest.mark.slow
@pytest.mark.parametrize("name", BUILDS)
def test_melt_alone_crosses_the_nozzle_at_its_own_speed_only(name: str) -> None:
    solution = solve(name)
    flow, pressure = melt_line(solution, solution[pump_alone_speed])
    assert np.interp(solution[wanted_flow], flow, pressure) == pytest.approx(solution[nozzle_pressure], rel=1e-9)
    assert (np.diff(pressure) < 0).all()
    _, slow = melt_line(solution, solution[operating_speed])
    assert slow.max() < 0.05 * solution[nozzle_pressure]
    for quantity in (pump_alone_speed, operating_speed, nozzle_pressure):
        assert solution.text(quantity) in draw_melt_alone(solution).alt


@pytest.mark.parametrize(("name", "torn"), [("otter", 17.5), ("wren", 7.0)])
def test_the_wall_feels_the_smallest_of_three_stresses(name: str, torn: float) -> None:
    """And what the chapter says in words: how much of the soft plastic tears, and that none slips."""
    solution = solve(name)
    found = stresses_of(solution)
    assert found.carried == pytest.approx(np.min([found.flows, found.torn, found.rubs], axis=0), rel=1e-9)
    tears = found.carried == found.torn
    step = found.place[1] - found.place[0]
    assert 1e3 * step * tears.sum() == pytest.approx(torn, abs=0.5)
    assert tears[: tears.sum()].all() and not (found.carried == found.rubs).any()
    assert solution.text(torn_stress) in draw_stresses(solution).alt


@pytest.mark.parametrize("name", BUILDS)
def test_the_smallest_circle_bears_the_shear_limit_and_each_the_same_torque(name: str) -> None:
    solution = solve(name)
    tip, wall = (solution[QUANTITIES[key]] for key in ("major_diameter", "bore_diameter"))
    widths = np.linspace(tip, wall, 5)
    (stress,) = solution.sweep([torn_stress], [bore_diameter])(widths)
    assert stress[0] == pytest.approx(solution[shear_limit], rel=1e-9)
    assert stress * widths**2 == pytest.approx(np.full(5, stress[0] * tip**2), rel=1e-9)
    alt = draw_circles([(name, solution)]).alt
    assert solution.text(shear_limit) in alt and solution.text(torn_stress) in alt


def test_bars_say_what_the_solution_says() -> None:
    both = [(name, solve(name)) for name in BUILDS]
    for scene, said in (
        (draw_torques(both), (needed_torque, stall_torque, soft_share)),
        (draw_thrusts(both), (operating_thrust, pressure_thrust, blocked_thrust, stall_thrust)),
    ):
        assert scene.png().startswith(b"\x89PNG") and without_nan(scene.svg())
        for _, solution in both:
            assert all(solution.text(quantity) in scene.alt for quantity in said)


@pytest.mark.parametrize("rounds", [1, 3, 8])
def test_rounds_are_those_that_settle_makes(rounds: int) -> None:
    otter = shipped_build("otter")
    start = otter.with_value(running_torque, FIRST_SHARE * otter.values[running_torque])
    torque, softened, reserve = rounds_of(otter.solution)
    after = settled(start, rounds=rounds).solution
    assert torque[rounds] == pytest.approx(after[running_torque], rel=1e-6)
    assert softened[rounds] == pytest.approx(after[QUANTITIES["softened_length"]], rel=1e-6)
    assert reserve[rounds] == pytest.approx(after[push_reserve], rel=1e-6)


@pytest.mark.slow
def test_rounds_settle_run_away_or_slip_and_say_which() -> None:
    plot = RoundsGraphs(shipped_build("otter").solution)
    assert "settled, reserve 2.66" in plot(shipped_build("otter").solution).alt
    away = changed("otter", wanted_flow=5, shear_limit=0.55, wall_heat_share=0).solution
    assert "round 2 the plug slips" in plot(away).alt
    torque = rounds_of(away)[0]
    assert (np.diff(torque[np.isfinite(torque)]) > 0).all()
    assert "settled" in plot(changed("otter", wanted_flow=5, shear_limit=0.55, wall_heat_share=30).solution).alt
    assert "slips from the start" in plot(solve("wren", friction_barrel=0.2)).alt
    assert without_nan(plot(away).svg())


@pytest.mark.slow
@pytest.mark.parametrize("name", BUILDS)
def test_the_band_is_the_spread_of_the_build_and_holds_nine_of_ten_heads(name: str) -> None:
    build = shipped_build(name)
    band = torque_band(build.network, build.values, build.ends, build.choices, shares=(1.0, 2.0))
    around = spread(build.network, needed_torque, build.values, build.ends, build.choices)
    assert [part[0] for part in band[1:]] == pytest.approx([around.nominal, around.low, around.high], rel=0.01)
    assert (band.low < band.nominal).all() and (band.nominal < band.high).all()
    below = (band.high < build.values[stall_torque]).tolist()
    assert below == {"otter": [True, False], "wren": [False, False]}[name], "as the chapter says"
    assert 1.5 < band.high[0] / band.low[0] < 2.5
    drawn = monte_carlo(build.network, [needed_torque], build.values, build.ends, build.choices, samples=400)
    torque = drawn[needed_torque][np.isfinite(drawn[needed_torque])]
    assert ((torque > band.low[0]) & (torque < band.high[0])).mean() > 0.9
    assert needed_torque.text(around.nominal)[:3] in draw_bands([(name, build.solution, band)]).alt
