"""Ringing against matrices and equations of motion solved in time, records made by integration, and dilated lines."""

import ast
import math
import re
from collections.abc import Sequence
from typing import Any

import nbformat
import numpy as np
import pytest
from augerbook.builds.reader import BuildError
from augerbook.builds.shipped import read_build, shipped_build, shipped_builds
from augerbook.chapters import ringing, whole_head
from augerbook.chapters.pictures import pictures_of
from augerbook.chapters.plate.figures import stiffness_and_mass
from augerbook.chapters.ringing import figures, graphs
from augerbook.chapters.ringing.decay import (
    LEAST_WAVES,
    crest_damping,
    fit_damped_sine,
    fitted_decay,
    telling_record,
)
from augerbook.chapters.ringing.models import after_a_corner, outer_edge, way_along
from augerbook.chapters.ringing.picture import FASTER, REST, SLOWER, ripple_of, wall_after_a_corner, way_of_ringing
from augerbook.core.network import Solution
from augerbook.core.units import ureg
from augerbook.draw.scene_layout import Circles, Outline
from augerbook.head.decay_record import MOST_SAMPLES, DecayRecordError, decay_record_faults, read_decay_csv
from augerbook.page.chapter import exercise
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.integrate import quad, solve_ivp
from scipy.linalg import eigh
from scipy.ndimage import grey_dilation
from scipy.optimize import curve_fit

from tests.chapters.chapters import chapter_of
from tests.chapters.solving import changed, shown_in, solved_at

Q = whole_head().quantities
BUILDS = {
    "otter": changed("otter"),
    "wren": changed("wren"),
    "low rail": changed("otter", rail_height=20.0, tilt_stiffness=1.0),
    "hanging": changed("wren", rail_height=160.0, slide_stiffness=30.0),
    "top heavy": changed("otter", motor_height=320.0, tilt_stiffness=0.8),
}
each_head = pytest.mark.parametrize("solution", [b.solution for b in BUILDS.values()], ids=BUILDS)


def matrices(solution: Solution) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Mass and stiffness of sliding and tilting, and how both move the nozzle; each part added for itself, SI units."""
    at = {key: solution[Q[key]] for key in (
        "rail_height", "motor_height", "plate_height", "hopper_height", "motor_mass", "gear_mass", "plate_mass",
        "granule_mass", "tube_mass", "screw_mass", "carriage_mass", "heated_length", "tube_length", "flighted_length",
        "shank_length", "slide_stiffness", "tilt_stiffness",
    )}  # fmt: skip
    parts = [
        (at["motor_mass"], at["motor_height"]), (at["gear_mass"], at["motor_height"]),
        (at["plate_mass"], at["plate_height"]), (at["granule_mass"], at["hopper_height"]),
        (at["tube_mass"], at["heated_length"] + at["tube_length"] / 2),
        (at["screw_mass"], at["heated_length"] + (at["flighted_length"] + at["shank_length"]) / 2),
        (at["carriage_mass"], at["rail_height"]),
    ]  # fmt: skip
    mass = np.zeros((2, 2))
    for grams, height in parts:
        moves = np.array([1.0, height - at["rail_height"]])
        mass += grams * np.outer(moves, moves)
    stiffness = np.diag([at["slide_stiffness"], at["tilt_stiffness"]])
    return mass, stiffness, np.array([1.0, -at["rail_height"]])


def test_a_stiffer_tilt_raises_the_frequency_and_lowers_the_safe_acceleration_of_both_builds() -> None:
    for name, accelerations in (("otter", (0.270, 0.201)), ("wren", (0.105, 0.0939))):
        build = shipped_build(name)
        stiffer = build.with_value(Q["tilt_stiffness"], 2 * build.values[Q["tilt_stiffness"]])
        found = [one.solution for one in (build, stiffer)]
        assert [at[ringing.highest_acceleration] for at in found] == pytest.approx(accelerations, rel=0.01)
        assert found[0][ringing.lower_frequency] < found[1][ringing.lower_frequency]


@pytest.mark.outside(
    "ringing.head_mass", "ringing.centre_height", "ringing.rail_inertia", "ringing.slide_frequency",
    "ringing.tilt_frequency", "ringing.tilt_coupling", "ringing.lower_frequency", "ringing.upper_frequency",
    "ringing.dunkerley_frequency", by="eigenvalues of mass and stiffness matrices summed part by part, SciPy",
)  # fmt: skip
@each_head
def test_frequencies_are_the_eigenvalues(solution: Solution) -> None:
    mass, stiffness, _ = matrices(solution)
    assert solution[ringing.head_mass] == pytest.approx(mass[0, 0], rel=1e-12)
    assert solution[ringing.centre_height] == pytest.approx(mass[0, 1] / mass[0, 0], rel=1e-12)
    assert solution[ringing.rail_inertia] == pytest.approx(mass[1, 1], rel=1e-12)
    hertz = np.sqrt(eigh(stiffness, mass, eigvals_only=True)) / (2 * math.pi)
    found = shown_in(solution, "lower_frequency upper_frequency")
    assert found == pytest.approx(hertz, rel=1e-9)
    alone = np.sqrt(np.diag(stiffness) / np.diag(mass)) / (2 * math.pi)
    assert shown_in(solution, "slide_frequency tilt_frequency") == pytest.approx(alone, rel=1e-12)
    assert solution[ringing.dunkerley_frequency] == pytest.approx((1 / hertz**2).sum() ** -0.5, rel=1e-9)
    assert solution[ringing.tilt_coupling] == pytest.approx(mass[0, 1] ** 2 / (mass[0, 0] * mass[1, 1]), rel=1e-12)


@pytest.mark.outside("ringing.nozzle_share", by="eigenvectors of mass and stiffness, SciPy")
@each_head
def test_the_nozzle_takes_its_share_of_each_way_of_ringing(solution: Solution) -> None:
    mass, stiffness, nozzle = matrices(solution)
    _, ways = eigh(stiffness, mass)
    shares = [float(nozzle @ way * (way @ mass @ [1.0, 0.0])) for way in ways.T]
    assert sum(shares) == pytest.approx(1, rel=1e-9)
    assert solution[ringing.nozzle_share] == pytest.approx(shares[0], rel=1e-8)
    for frequency, way in zip(shown_in(solution, "lower_frequency upper_frequency"), ways.T, strict=True):
        slide, tilt = way_of_ringing(solution, frequency)
        assert slide * way[1] == pytest.approx(tilt * way[0], rel=1e-6)


def integrated(
    solution: Solution, acceleration: float, ramps: Sequence[float], time: np.ndarray, damping: float
) -> np.ndarray:
    """The nozzle off the wall after stops of the rail's direction, a row for each length of the ramp.

    Both equations are integrated, with modal damping. They are linear: what follows is that of four starts, each in
    its share.
    """
    mass, stiffness, nozzle = matrices(solution)
    squares, ways = eigh(stiffness, mass)
    damper = mass @ ways @ np.diag(2 * damping * np.sqrt(squares)) @ ways.T @ mass
    moves = np.block([
        [np.zeros((2, 2)), np.eye(2)], [-np.linalg.solve(mass, stiffness), -np.linalg.solve(mass, damper)],
    ])  # fmt: skip
    push = np.concatenate([np.zeros(2), np.linalg.solve(mass, mass[:, 0]) * acceleration])

    def after(_: float, state: np.ndarray) -> np.ndarray:
        return (moves @ state.reshape(4, 4)).ravel()

    by_start = solve_ivp(
        after, (0.0, float(time[-1])), np.eye(4).ravel(), t_eval=time, rtol=1e-11, atol=1e-14, method="DOP853"
    ).y.reshape(4, 4, -1)
    found = []
    for ramp in ramps:
        during = solve_ivp(
            lambda _, state: moves @ state + push, (-ramp, 0.0), np.zeros(4), rtol=1e-10, atol=1e-14, method="DOP853"
        )
        found.append(np.einsum("p,pst,s->t", nozzle, by_start[:2], during.y[:, -1]))
    return np.array(found)


@pytest.mark.parametrize("damping", [0.0, 0.07])
@each_head
def test_the_nozzle_after_a_corner_is_what_the_equations_of_motion_give(solution: Solution, damping: float) -> None:
    time = np.linspace(0.0, 0.2, 81)
    share = solution[ringing.nozzle_share]
    hertz = (solution[ringing.lower_frequency], solution[ringing.upper_frequency])
    found = after_a_corner(time, 0.9, 0.013, hertz, (share, 1 - share), damping)
    (expected,) = integrated(solution, 0.9, [0.013], time, damping)
    assert found == pytest.approx(expected, abs=2e-6 * np.abs(expected).max())


@pytest.mark.outside(
    "ringing.nozzle_give", "ringing.acceleration_wave", "ringing.highest_acceleration", "ringing.acceleration_share",
    by="equations of motion of both ways of ringing integrated for many stops, SciPy",
)  # fmt: skip
@each_head
def test_no_stop_makes_more_than_the_acceleration_can(solution: Solution) -> None:
    """The worst of many lengths of stop comes close to the bound, and none goes beyond it."""
    acceleration, time = solution[Q["print_acceleration"]], np.linspace(0.0, 0.4, 1201)
    slow = 1 / solution[ringing.lower_frequency]
    heights = np.ptp(integrated(solution, acceleration, slow * np.linspace(0.3, 2.6, 24), time, 0.0), axis=1)
    bound = solution[ringing.acceleration_wave]
    assert 0.85 * bound < heights.max() <= bound * (1 + 1e-9)
    seen = solution[Q["visible_wave"]]
    assert solution[ringing.acceleration_share] == pytest.approx(bound / seen)
    assert solution[ringing.highest_acceleration] == pytest.approx(acceleration * seen / bound)


@pytest.mark.slow
@pytest.mark.outside(
    "ringing.acceleration_wave", "ringing.highest_acceleration",
    by="equations of motion of both ways of ringing integrated, with both pushes of a line, SciPy",
)  # fmt: skip
@each_head
@pytest.mark.parametrize("damping", [0.0, 0.05])
def test_both_pushes_of_a_short_line_add_up_to_twice_the_wave_and_no_more(solution: Solution, damping: float) -> None:
    """Speeding up pushes one way, stopping the other: on a long line the first dies away, on a short one both add up.

    So half of the acceleration is safe on any line by itself. Many in a row, in step with the ringing, make more.
    """
    safe = solution[ringing.highest_acceleration]
    slow, tick = 1 / solution[ringing.lower_frequency], 1 / solution[ringing.lower_frequency] / 60
    halves = np.array([0.5, 0.5 / solution[ringing.upper_frequency] / slow])  # half a wave of each way of ringing
    ramps = slow * np.array([*halves, 0.4, 0.6, 0.9])  # how long either push lasts: the speed of the line
    lasts, short, long = 600, np.arange(0.4, 3.0, 0.05), np.arange(16.0, 17.0, 0.05)
    stops = integrated(solution, safe, ramps, tick * np.arange(lasts + 60 * 17), damping)

    def highest(waves: np.ndarray) -> float:
        """The highest wave behind a stop so many waves after the line began, whatever its speed."""
        seen = []
        for ramp, stop in zip(ramps, stops, strict=True):
            for begun in (round(w * 60) for w in waves if w * slow >= ramp):
                seen.append(np.ptp(stop[:lasts] - stop[begun : begun + lasts]))
        return max(seen)

    visible = solution[Q["visible_wave"]]
    most = highest(short)
    assert most > visible or damping, "a stop is not all: the chapter says so"
    assert most / 2 <= visible * (1 + 1e-9), "half of the acceleration is enough, as the chapter says"
    assert highest(long) <= 1.01 * visible or not damping
    in_a_row = (
        sum((-1) ** k * stop[round(60 * k * half) :][:lasts] for k in range(12))
        for half, stop in zip(halves, stops, strict=False)
    )
    assert max(np.ptp(swing) for swing in in_a_row) > most, "many in a row make more still"
    for name in ("acceleration_wave", "speed_wave", "corner_factor", "highest_acceleration"):
        said = whole_head().nodes[f"ringing.{name}"].assumptions
        assert any("a single stop" in words for words in said), name


@pytest.mark.slow
@pytest.mark.outside(
    "ringing.nozzle_sway", "ringing.speed_wave", "ringing.ramp_time",
    by="equations of motion of both ways of ringing integrated for a sudden stop, SciPy",
)  # fmt: skip
@each_head
def test_a_sudden_stop_makes_what_the_speed_can(solution: Solution) -> None:
    time, speed = np.linspace(0.0, 1.2, 6001), solution[Q["line_speed"]]
    bound = solution[ringing.speed_wave]
    assert 0.9 * bound < np.ptp(integrated(solution, speed / 1e-5, [1e-5], time, 0.0)) <= bound * (1 + 1e-6)
    acceleration = solution[Q["print_acceleration"]]
    stop = solve_ivp(
        lambda t, v: [-acceleration], (0, 1), [speed], events=lambda t, v: v[0], rtol=1e-10, atol=1e-14, max_step=1e-2
    )
    assert solution[ringing.ramp_time] == pytest.approx(stop.t_events[0][0], rel=1e-9)
    assert np.ptp(integrated(solution, acceleration, stop.t_events[0], time, 0.0)) <= min(
        bound, solution[ringing.acceleration_wave]
    ) * (1 + 1e-9)


def section(screw: dict[str, float]) -> float:
    """Section of a screw square to its axis, in m**2, from its radius at each angle."""
    slope, half = math.tan(math.radians(30)), screw["pitch"] / 2

    def radius(turn: float) -> float:
        beside = abs(turn / math.pi - 1) * half
        cut = max(0.0, (beside - screw["crest_width"] / 2) / slope)
        return max(screw["major_diameter"] / 2 - cut, screw["core_diameter"] / 2)

    return quad(lambda turn: radius(turn) ** 2 / 2, 0, 2 * math.pi, limit=400)[0]


@pytest.mark.outside(
    "ringing.granule_mass", "ringing.tube_mass", "ringing.screw_mass", by="sections summed over radius or angle, SciPy"
)
@pytest.mark.parametrize("name", shipped_builds())
def test_masses_of_tube_screw_and_granules(name: str) -> None:
    solution = shipped_build(name).solution
    at = {key: solution[Q[key]] for key in (
        "loose_density", "hopper_diameter", "fill_height", "tube_density", "bore_diameter", "tube_outside_diameter",
        "tube_length", "screw_density", "flighted_length", "shank_length", "major_diameter", "core_diameter", "pitch",
        "crest_width",
    )}  # fmt: skip
    ring = quad(lambda r: 2 * math.pi * r, at["bore_diameter"] / 2, at["tube_outside_diameter"] / 2)[0]
    assert solution[ringing.tube_mass] == pytest.approx(at["tube_density"] * ring * at["tube_length"])
    disc = quad(lambda r: 2 * math.pi * r, 0, at["hopper_diameter"] / 2)[0]
    assert solution[ringing.granule_mass] == pytest.approx(at["loose_density"] * disc * at["fill_height"])
    shank = quad(lambda r: 2 * math.pi * r, 0, at["major_diameter"] / 2)[0] * at["shank_length"]
    if solution.shown(Q["flank_half_angle"]) == 30:
        expected = at["screw_density"] * (section(at) * at["flighted_length"] + shank)
        assert solution[ringing.screw_mass] == pytest.approx(expected, rel=2e-3)


def ringing_down(turning: float, damping: float, time: np.ndarray, start: tuple[float, float]) -> np.ndarray:
    """A damped oscillator let go, integrated."""
    found = solve_ivp(
        lambda t, y: [y[1], -2 * damping * turning * y[1] - turning**2 * y[0]], (time[0], time[-1]), start,
        t_eval=time, rtol=1e-11, atol=1e-13, method="DOP853",
    )  # fmt: skip
    return found.y[0]


@pytest.mark.outside(
    "ringing.log_decrement", "ringing.overshoot", "ringing.waves_to_half", "ringing.wall_damping",
    by="a damped oscillator let go, integrated, its crests found by SciPy",
)  # fmt: skip
@pytest.mark.parametrize("damping", [0.02, 0.1, 0.3])
def test_crests_fall_as_the_decrement_says(damping: float) -> None:
    found = solve_ivp(
        lambda t, y: [y[1], -2 * damping * y[1] - y[0]], (0, 40), [1.0, 0.0], events=lambda t, y: y[1], rtol=1e-11,
        atol=1e-13, method="DOP853",
    )  # fmt: skip
    ends = found.y_events[0][:, 0]
    ends = ends[np.abs(ends) < 1 - 1e-9]
    solution = solved_at({"damping_ratio": damping})
    assert solution[ringing.overshoot] == pytest.approx(-ends[0], rel=1e-7)
    decrement = math.log(ends[1] / ends[3])
    assert solution[ringing.log_decrement] == pytest.approx(decrement, rel=1e-6)
    half = math.log(2) / decrement
    assert solution[ringing.waves_to_half] == pytest.approx(half, rel=1e-6)
    assert solved_at({"test_waves_to_half": half})[ringing.wall_damping] == pytest.approx(damping, rel=1e-6)


@pytest.mark.outside("ringing.corner_factor", by="a damped oscillator pushed for a while, integrated, SciPy")
@pytest.mark.parametrize("damping", [1e-6, 0.06, 0.3])
@pytest.mark.parametrize("stop", [0.05, 0.37, 0.5, 1.0, 1.83])
def test_a_stop_leaves_a_swing_that_depends_on_how_long_it_lasts(damping: float, stop: float) -> None:
    """The swing that is left: the height of the envelope at the end of the stop, over where the push would hold it."""
    pushed = solve_ivp(
        lambda t, y: [y[1], 1 - 2 * damping * y[1] - y[0]], (0, 2 * math.pi * stop), [0.0, 0.0], rtol=1e-11,
        atol=1e-13, method="DOP853",
    )  # fmt: skip
    place, speed = pushed.y[:, -1]
    left = math.hypot(place, (speed + damping * place) / math.sqrt(1 - damping**2))
    solution = solved_at({"damping_ratio": damping, "lower_frequency": 20.0, "ramp_time": 1000 * stop / 20})
    assert solution[ringing.corner_factor] == pytest.approx(left, rel=1e-6, abs=1e-5)
    if damping < 1e-3:
        assert solution[ringing.corner_factor] == pytest.approx(abs(2 * math.sin(math.pi * stop)), abs=1e-4)


@pytest.mark.outside(
    "ringing.wall_wave", "ringing.half_length", "ringing.wall_frequency", by="crests of an integrated path, SciPy"
)
def test_crests_on_the_wall_are_a_wave_apart() -> None:
    speed, damping, hertz = 0.012, 0.05, 20.0
    time = np.linspace(0, 1, 20001)
    swing = ringing_down(2 * math.pi * hertz, damping, time, (1.0, 0.0))
    crests = np.flatnonzero((swing[1:-1] > swing[:-2]) & (swing[1:-1] >= swing[2:])) + 1
    places = speed * time[crests]
    solution = solved_at({"line_speed": 1000 * speed, "lower_frequency": hertz, "damping_ratio": damping})
    # Damping makes the waves longer, by an eighth of a per cent here.
    assert solution[ringing.wall_wave] == pytest.approx(float(np.diff(places).mean()), rel=3e-3)
    fall = np.polyfit(places, np.log(swing[crests]), 1)[0]
    assert solution[ringing.half_length] == pytest.approx(-math.log(2) / fall, rel=3e-3)
    seen = solved_at({"test_speed": 1000 * speed, "test_wavelength": 1000 * float(np.diff(places).mean())})
    assert seen[ringing.wall_frequency] == pytest.approx(hertz, rel=3e-3)


# --- what the line shows


@pytest.mark.outside("ringing.filled_wave", by="a path dilated by a disc, grey dilation of SciPy's image library")
@pytest.mark.parametrize("wave", [0.1, 0.3, 0.6, 0.85])
@pytest.mark.parametrize("swing", [0.01, 0.05, 0.2])
def test_a_line_fills_its_valleys(wave: float, swing: float) -> None:
    """Line 1 mm wide along a sine: what is left of the wave comes up to the bound only where the swing is large."""
    step = 0.002
    along = np.arange(0.0, 4.0, step)
    path = swing * np.sin(2 * math.pi * along / wave)
    reach = np.arange(-0.5, 0.5 + step / 2, step)
    disc = np.sqrt(np.maximum(0.25 - reach**2, 0.0))
    edge = grey_dilation(path, size=(len(disc),), structure=disc)[600:-600]
    left = float(np.ptp(edge))
    bound = solved_at({"line_width": 1.0, "wall_wave": wave})[ringing.filled_wave] * 1000
    assert left <= min(bound, 2 * swing) + 2e-4
    if swing > bound:
        assert left > 0.6 * bound
    own = 1000 * outer_edge(along[600:-600] / 1000, along / 1000, path / 1000, 1e-3)
    assert own == pytest.approx(edge - 0.5, abs=1e-4)


def test_a_wave_longer_than_the_line_is_wide_is_not_filled() -> None:
    assert solved_at({"line_width": 1.0, "wall_wave": 1.0001})[ringing.filled_wave] == math.inf
    assert solved_at({"line_width": 1.0, "wall_wave": 0.9999})[ringing.filled_wave] == pytest.approx(0.5e-3, rel=0.02)


@pytest.mark.outside(
    "ringing.wave_height",
    "ringing.visible_share",
    by="both ways of ringing integrated, the path dilated by a disc, SciPy",
)
@pytest.mark.parametrize("name", ["otter", "wren", "low rail", "top heavy"])
def test_the_wall_shows_no_more_than_the_bound(name: str) -> None:
    solution = BUILDS[name].solution
    damping, speed = solution[ringing.damping_ratio], solution[Q["line_speed"]]
    acceleration, width = solution[Q["print_acceleration"]], solution[Q["line_width"]]
    time = np.linspace(0, 9 / solution[ringing.lower_frequency], 4001)
    (off,) = integrated(solution, acceleration, [speed / acceleration], time, damping)
    along = np.where(time < speed / acceleration, acceleration * time**2 / 2, speed * (time - speed / acceleration / 2))
    assert way_along(time, speed, acceleration) == pytest.approx(along, abs=1e-12)
    step = width / 800
    even = np.interp(np.arange(0, along[-1], step), along, off)
    reach = np.arange(-width / 2, width / 2 + step / 2, step)
    disc = np.sqrt(np.maximum(width**2 / 4 - reach**2, 0.0))
    edge = grey_dilation(even, size=(len(disc),), structure=disc, mode="constant", cval=-1.0) - width / 2
    kept = slice(1, int(6 * solution[ringing.wall_wave] / step))
    shown = ripple_of(edge[kept])
    assert shown <= solution[ringing.wave_height]
    if name in shipped_builds():
        assert shown > 0.4 * solution[ringing.wave_height]
    assert solution[ringing.visible_share] == pytest.approx(solution[ringing.wave_height] / solution[Q["visible_wave"]])


@pytest.mark.outside("ringing.quiet_speed", by="the bounds searched for what may just be seen, at any acceleration")
@given(
    share=st.floats(-0.5, 1.5), low=st.floats(5, 60), ratio=st.floats(1.05, 6), width=st.floats(0.3, 4),
    seen=st.floats(0.005, 0.2), acceleration=st.floats(10, 20_000),
)  # fmt: skip
def test_below_the_quiet_speed_nothing_is_seen(
    share: float, low: float, ratio: float, width: float, seen: float, acceleration: float
) -> None:
    at = {
        "nozzle_share": share, "lower_frequency": low, "upper_frequency": low * ratio, "line_width": width,
        "visible_wave": seen, "print_acceleration": acceleration,
    }  # fmt: skip
    quiet = solved_at(at)[ringing.quiet_speed] * 1000
    assert solved_at({**at, "line_speed": 0.999 * quiet})[ringing.visible_share] <= 1 + 1e-9
    if seen < width / 2:
        beyond = solved_at({**at, "line_speed": 1.01 * quiet, "print_acceleration": 1e7})
        assert beyond[ringing.visible_share] > 1


@pytest.mark.slow
@pytest.mark.parametrize(("name", "tall"), [("otter", 0.060), ("wren", 0.041)])
def test_parts_that_are_no_points_would_add_as_much_inertia_as_is_said(name: str, tall: float) -> None:
    """Motor and gear as one box, so tall; granules and screw as cylinders, the rest is next to nothing."""
    solution = shipped_build(name).solution
    keys = "motor_mass gear_mass motor_side granule_mass hopper_diameter fill_height screw_mass"
    motor, gear, side, granules, wide, deep, screw = (float(solution[Q[key]]) for key in keys.split())
    long = float(solution[Q["flighted_length"]] + solution[Q["shank_length"]])
    own = (motor + gear) * (tall**2 + side**2) / 12 + granules * (3 * (wide / 2) ** 2 + deep**2) / 12
    assert (own + screw * long**2 / 12) / solution[ringing.rail_inertia] == pytest.approx(0.115, abs=0.01)
    (inertia,) = (node for node in ringing.SUBJECT.nodes if node.id == "ringing.rail_inertia")
    assert any("leaves out about a tenth of the inertia" in words for words in inertia.assumptions)


def test_half_the_acceleration_may_change_nothing_and_the_safe_one_is_what_is_advised() -> None:
    """*Wren*'s waves are as high as its line leaves unfilled: speed moves that, acceleration only from far below."""
    wren = shipped_build("wren")
    acceleration, flow = Q["print_acceleration"], Q["wanted_flow"]
    share, now, safe = (wren.solution[q] for q in (ringing.visible_share, acceleration, ringing.highest_acceleration))
    halved = wren.with_value(acceleration, now / 2).solution[ringing.visible_share]
    assert share > 1 and halved == share
    assert wren.with_value(acceleration, float(safe)).solution[ringing.visible_share] == pytest.approx(1)
    assert wren.with_value(flow, 0.8 * wren.values[flow]).solution[ringing.visible_share] < 0.7 * share
    (margin,) = (m for m in ringing.SUBJECT.margins if m.quantity == ringing.visible_share)
    assert margin.advice.startswith("print more slowly, or lower the acceleration as far as the one that is safe")


@pytest.mark.parametrize(("name", "highest"), [("otter", 0.0256), ("wren", 0.0247)])
def test_at_the_quiet_speed_a_bulge_stays_at_the_corner(name: str, highest: float) -> None:
    """Both ways of ringing integrated through a very hard stop, the path dilated by a disc: no more than v y."""
    solution = shipped_build(name).solution
    speed, width, hard = solution[ringing.quiet_speed], solution[Q["line_width"]], 50.0
    time = np.linspace(0, 3 / solution[ringing.lower_frequency], 4001)
    (off,) = integrated(solution, hard, [speed / hard], time, solution[ringing.damping_ratio])
    assert 1000 * off.max() == pytest.approx(highest, rel=0.01)
    assert off.max() < speed * solution[ringing.nozzle_sway]
    # No edge can lie lower than the path that its line was laid along, and the disc adds nothing beyond its crest.
    edge = outer_edge(speed * time, way_along(time, speed, hard), off, width)
    assert edge.max() == pytest.approx(off.max(), rel=1e-3)


@pytest.mark.parametrize("name", ["otter", "wren"])
def test_a_measured_frequency_moves_speed_and_acceleration_as_said(name: str) -> None:
    """Springs that are softer by the square of measured over computed, both alike."""
    build = shipped_build(name)
    times = build.solution[ringing.frequency_ratio]
    soft = build
    for spring in (Q["slide_stiffness"], Q["tilt_stiffness"]):
        soft = soft.with_value(spring, build.solution[spring] * times**2)
    of = {q: soft.solution[q] / build.solution[q] for q in (ringing.quiet_speed, ringing.highest_acceleration)}
    assert soft.solution[ringing.lower_frequency] == pytest.approx(build.solution[ringing.measured_frequency])
    assert of == pytest.approx({ringing.quiet_speed: times, ringing.highest_acceleration: times**2}, rel=1e-9)


@given(
    share=st.floats(-0.5, 1.5), low=st.floats(5, 60), ratio=st.floats(1.05, 6), speed=st.floats(0.5, 100),
    acceleration=st.floats(10, 20_000),
)  # fmt: skip
def test_slower_and_gentler_never_shows_more(
    share: float, low: float, ratio: float, speed: float, acceleration: float
) -> None:
    at = {
        "nozzle_share": share, "lower_frequency": low, "upper_frequency": low * ratio, "line_width": 0.8,
        "visible_wave": 0.02, "print_acceleration": acceleration, "line_speed": speed,
    }  # fmt: skip
    here = solved_at(at)[ringing.visible_share]
    assert solved_at({**at, "line_speed": 0.9 * speed})[ringing.visible_share] <= here * (1 + 1e-12)
    assert solved_at({**at, "print_acceleration": 0.9 * acceleration})[ringing.visible_share] <= here * (1 + 1e-12)
    stiffer = {**at, "lower_frequency": 1.1 * low, "upper_frequency": 1.1 * low * ratio}
    assert solved_at(stiffer)[ringing.visible_share] <= here * (1 + 1e-12)


@given(
    mass=st.floats(200, 4000), height=st.floats(-80, 150), slide=st.floats(2, 200), tilt=st.floats(0.3, 100),
    own=st.floats(1.05, 4),
)  # fmt: skip
def test_the_lower_frequency_lies_between_dunkerley_and_either_alone(
    mass: float, height: float, slide: float, tilt: float, own: float
) -> None:
    assume(abs(height) > 1)
    inertia = mass * (height / 1000) ** 2 * own
    solution = solved_at({
        "head_mass": mass, "centre_height": height, "rail_inertia": inertia, "slide_stiffness": slide,
        "tilt_stiffness": tilt,
    })  # fmt: skip
    low, sliding, tilting, bound, high = shown_in(
        solution, "lower_frequency slide_frequency tilt_frequency dunkerley_frequency upper_frequency"
    )
    assert bound <= low * (1 + 1e-9) and low <= min(sliding, tilting) * (1 + 1e-9)
    assert high >= max(sliding, tilting) * (1 - 1e-9)


@pytest.mark.parametrize("name", shipped_builds())
def test_with_the_centre_of_mass_at_the_rail_sliding_and_tilting_know_nothing_of_each_other(name: str) -> None:
    solution = shipped_build(name).solution
    # What is not listed moves with the rail: the centre of the rest must come to lie there.
    rest = solution[ringing.head_mass] / (solution[ringing.head_mass] - solution[Q["carriage_mass"]])
    middle = solution.shown(Q["rail_height"]) + rest * solution.shown(ringing.centre_height)
    level = changed(name, rail_height=middle).solution
    assert level[ringing.lower_frequency] == pytest.approx(level[ringing.slide_frequency], rel=1e-9)
    assert level[ringing.nozzle_share] == pytest.approx(1, abs=1e-6)


# --- plate and screw


@pytest.mark.outside("ringing.axial_frequency", by="a chain of springs with its mass at the end, eigenvalues, SciPy")
@pytest.mark.parametrize("name", shipped_builds())
def test_the_head_bounces_along_its_screw_far_faster_than_it_rings(name: str) -> None:
    solution = shipped_build(name).solution
    springs = [solution[Q[key]] for key in (
        "plate_stiffness", "bearing_stiffness", "screw_stiffness", "coupling_stiffness", "frame_stiffness"
    )]  # fmt: skip
    mass = sum(solution[Q[key]] for key in ("motor_mass", "gear_mass", "plate_mass", "screw_mass"))
    stiffness = np.zeros((5, 5))
    for place, spring in enumerate(springs):
        stiffness[place, place] += spring
        if place:
            stiffness[place - 1, place - 1] += spring
            stiffness[place - 1, place] = stiffness[place, place - 1] = -spring
    squares = eigh(stiffness, np.diag([1e-9] * 4 + [mass]), eigvals_only=True)
    assert solution[ringing.axial_frequency] == pytest.approx(math.sqrt(squares[0]) / (2 * math.pi), rel=1e-6)
    assert solution[ringing.axial_frequency] > 10 * solution[ringing.lower_frequency]


@pytest.mark.outside("ringing.plate_mass_share", "ringing.frequency_ratio", by="pint's arithmetic with units")
@pytest.mark.parametrize("name", shipped_builds())
def test_shares(name: str) -> None:
    solution = shipped_build(name).solution
    plate, head = (solution[q] * ureg.kilogram for q in (Q["plate_mass"], ringing.head_mass))
    assert solution.shown(ringing.plate_mass_share) == pytest.approx((plate / head).to("percent").magnitude)
    measured, computed = (solution[q] * ureg.hertz for q in (ringing.measured_frequency, ringing.lower_frequency))
    assert solution[ringing.frequency_ratio] == pytest.approx((measured / computed).to("").magnitude)


def test_what_the_chapter_says_of_the_plate() -> None:
    """From 2 to 12 mm the safe acceleration falls by less than a tenth, since the plate is a small part of the head."""
    for name in shipped_builds():
        thin, thick = (changed(name, plate_thickness=t).solution[ringing.highest_acceleration] for t in (2.0, 12.0))
        assert 0.9 < thick / thin < 1
        assert shipped_build(name).solution.shown(ringing.plate_mass_share) < 4


def test_what_the_chapter_says_of_ribs() -> None:
    assert stiffness_and_mass("two ribs", 60, 3) == pytest.approx((29, 1.4), rel=0.01)
    assert stiffness_and_mass("solid, as heavy as with ribs", 60, 3) == pytest.approx((2.7, 1.4), rel=0.02)


def test_what_the_chapter_says_of_the_rail_and_of_a_mast() -> None:
    """Frequency and safe acceleration with the rail at the tip, at its best and at the centre of mass."""
    low = changed("otter", rail_height=0.0).solution
    assert low.shown(ringing.lower_frequency) == pytest.approx(15, abs=0.5)
    assert low.shown(ringing.highest_acceleration) == pytest.approx(160, abs=5)
    best = changed("otter", rail_height=70.0).solution.shown(ringing.highest_acceleration)
    for rail in (40.0, 110.0):
        assert changed("otter", rail_height=rail).solution.shown(ringing.highest_acceleration) < best
    mast = changed("otter", motor_height=320.0, tilt_stiffness=1.0).solution
    assert mast.shown(ringing.lower_frequency) == pytest.approx(7.1, abs=0.05)
    assert mast[ringing.nozzle_share] < 0


# --- records


def record(
    seed: int,
    *,
    hertz: float = 21.0,
    damping: float = 0.05,
    noise: float = 0.02,
    waves: float = 6.0,
    rate: float = 12.0,
    uneven: float = 0.0,
) -> tuple[np.ndarray, np.ndarray]:
    """A record made by integration, with noise over the first crest, and steps that may be uneven."""
    random = np.random.default_rng(seed)
    time = np.arange(round(waves * rate)) / (rate * hertz)
    time = np.sort(time + uneven / (rate * hertz) * random.uniform(-0.45, 0.45, time.size))
    time -= time[0]
    phase = random.uniform(0, 2 * math.pi)
    turning = 2 * math.pi * hertz
    swing = ringing_down(turning, damping, time, (math.cos(phase), -turning * math.sin(phase)))
    return time, 3.0 + swing + random.normal(0, noise, time.size)


@pytest.mark.outside("ringing.decay_fit", by="records made by integration, and SciPy's curve_fit on all six numbers")
@pytest.mark.parametrize("uneven", [0.0, 1.0])
@pytest.mark.parametrize(("hertz", "damping"), [(21.0, 0.05), (8.0, 0.02), (70.0, 0.12)])
def test_a_fit_finds_what_a_record_was_made_of(hertz: float, damping: float, uneven: float) -> None:
    columns = record(3, hertz=hertz, damping=damping, noise=0.01, uneven=uneven)
    fit = fit_damped_sine(*columns)
    assert fit.frequency == pytest.approx(hertz, abs=4 * fit.frequency_error)
    assert fit.damping == pytest.approx(damping, abs=4 * fit.damping_error)
    assert fit.noise == pytest.approx(0.01, rel=0.4) and fit.middle == pytest.approx(3.0, abs=0.02)

    def curve(t: np.ndarray, turning: float, decay: float, a: float, b: float, c: float, d: float) -> np.ndarray:
        return np.exp(-decay * t) * (a * np.cos(turning * t) + b * np.sin(turning * t)) + c + d * t

    start = (2 * math.pi * hertz, damping * 2 * math.pi * hertz, 1.0, 0.1, 3.0, 0.0)
    best, spread = curve_fit(curve, *columns, p0=start)
    natural = math.hypot(best[0], best[1])
    assert fit.frequency == pytest.approx(natural / (2 * math.pi), rel=1e-5)
    assert fit.damping == pytest.approx(best[1] / natural, rel=1e-4)
    assert fit.frequency_error == pytest.approx(math.sqrt(spread[0, 0]) / (2 * math.pi), rel=0.05)
    assert fit.damping_error == pytest.approx(math.sqrt(spread[1, 1]) / natural, rel=0.05)
    assert fit.amplitude == pytest.approx(math.hypot(best[2], best[3]), rel=1e-4)
    fine = columns[0]
    assert fit.reading(fine) == pytest.approx(curve(fine, *best), abs=1e-4)
    assert fit.envelope(fine) == pytest.approx(math.hypot(best[2], best[3]) * np.exp(-best[1] * fine), rel=1e-3)


@pytest.mark.slow
def test_readings_in_any_unit_are_as_well_known() -> None:
    """Two micrometres told in metres, or a sensor's counts by the million."""
    time = np.arange(200) * 0.0015
    swing = np.exp(-5 * time) * np.cos(2 * np.pi * 20 * time) + 0.01 * np.random.default_rng(0).standard_normal(200)
    in_ones = fit_damped_sine(time, 3 + swing)
    for size in (1e-9, 2e-6, 1e6):
        fit = fit_damped_sine(time, size * (3 + swing))
        assert fit.damping == pytest.approx(in_ones.damping, rel=1e-6)
        assert fit.damping_error == pytest.approx(in_ones.damping_error, rel=1e-6) and fit.damping_error > 1e-4
        assert fit.frequency_error == pytest.approx(in_ones.frequency_error, rel=1e-6)


def test_the_truth_lies_within_the_stated_spread_as_often_as_it_should() -> None:
    """Sixty records with fixed seeds: about two thirds within one standard deviation, nineteen of twenty within two."""
    off = []
    for seed in range(60):
        fit = fit_damped_sine(*record(seed, uneven=seed % 2))
        off.append([(fit.frequency - 21.0) / fit.frequency_error, (fit.damping - 0.05) / fit.damping_error])
    off_by = np.abs(np.array(off))
    for column in off_by.T:
        assert 0.53 < (column < 1).mean() < 0.83
        assert (column < 2).mean() > 0.88 and column.max() < 4.5


@pytest.mark.outside("ringing.crests", by="records made by integration")
@pytest.mark.parametrize("damping", [0.03, 0.06, 0.1])
def test_crests_alone_tell_the_damping_roughly(damping: float) -> None:
    found = [crest_damping(record(seed, damping=damping, rate=24, noise=0.005, waves=7)[1]) for seed in range(12)]
    assert np.mean(found) == pytest.approx(damping, rel=0.08)
    assert np.isnan(crest_damping(record(1, waves=1.2, rate=30)[1]))


def spread_of_damping(damping: float, signal: float, rate: float, waves: float) -> float:
    """The least standard deviation of the damping ratio that a record can give, by Fisher's information."""
    turned = 2 * math.pi * np.arange(round(waves * rate)) / rate
    fall = np.exp(-damping * turned)
    slopes = np.column_stack([
        -turned * fall * np.sin(turned), -turned * fall * np.cos(turned), fall * np.cos(turned), fall * np.sin(turned),
        np.ones_like(turned), turned,
    ])  # fmt: skip
    return math.sqrt(np.linalg.inv(slopes.T @ slopes)[1, 1]) / signal


@pytest.mark.outside(
    "ringing.telling_record", by="Fisher's information of a damped sine that drifts, summed over readings, NumPy"
)  # fmt: skip
@pytest.mark.parametrize(
    ("damping", "signal", "rate", "waves"),
    [
        (0.001, 100.0, 8.0, 4.0), (0.001, 200.0, 12.0, 3.0), (0.003, 60.0, 20.0, 6.0), (0.03, 12.0, 12.0, 4.0),
        (0.03, 5.1, 12.0, 8.0), (0.06, 12.0, 12.0, 4.0), (0.06, 6.67, 12.0, 40.0), (0.06, 3.3, 12.0, 5.0),
        (0.1, 6.0, 24.0, 8.0),
    ],
)  # fmt: skip
def test_the_waves_told_tell_the_damping_to_a_tenth_or_none_do(
    damping: float, signal: float, rate: float, waves: float
) -> None:
    error = spread_of_damping(damping, signal, rate, waves)
    solution = solved_at({"recorded_damping": damping, "recorded_damping_error": error, "record_waves": waves})
    told, push = solution[ringing.telling_waves], solution[ringing.push_needed]
    endless = spread_of_damping(damping, signal, rate, 6 / damping / math.pi)
    assert push == pytest.approx(endless / (0.1 * damping), rel=0.1)
    if math.isfinite(told):
        assert spread_of_damping(damping, signal, rate, told) == pytest.approx(0.1 * damping, rel=0.1)
    else:
        assert endless > 0.098 * damping
    # So many times harder, the signal suffices in a long record.
    assert spread_of_damping(damping, push * signal, rate, 6 / damping / math.pi) == pytest.approx(
        0.1 * damping, rel=0.1
    )


def test_a_longer_record_of_a_dead_vibration_asks_for_a_harder_push_and_no_more_waves() -> None:
    """The number of waves does not run ahead of the record, and the push is the same however long it is."""
    pushes = []
    for waves in (5, 12, 40):
        build = shipped_build("otter").with_rows(ringing.decay_record, record(8, damping=0.06, noise=0.3, waves=waves))
        told = " ".join(w.validity.otherwise for w in build.solution.warnings)
        assert "no longer record tells more" in told and "record more waves" not in told
        assert build.solution.text(ringing.telling_waves) == "unlimited"
        pushes.append(build.solution[ringing.push_needed])
    assert max(pushes) / min(pushes) < 1.4 and min(pushes) > 1.5
    short = shipped_build("otter").with_rows(ringing.decay_record, record(1, damping=0.03, noise=0.1, waves=3)).solution
    assert "record more waves" in " ".join(w.validity.otherwise for w in short.warnings)
    longer = record(1, damping=0.03, noise=0.1, waves=math.ceil(1.2 * short[ringing.telling_waves]))
    assert fitted_decay(longer)[3] < 0.1 * fitted_decay(longer)[1]


def test_the_telling_record_takes_arrays_and_knows_no_damping() -> None:
    waves, push = telling_record([[0.05], [0.0], [-0.01], [np.nan]], [0.001, 0.01], 5.0)
    assert waves.shape == push.shape == (4, 2)
    assert np.isinf(waves[1:3]).all() and np.isinf(push[1:3]).all() and np.isnan(waves[3]).all()
    assert telling_record(0.05, 1e-5, 5.0).waves == LEAST_WAVES


@pytest.mark.slow
@pytest.mark.outside("ringing.told_damping", by="records of next to no damping made by integration")
def test_a_damping_that_noise_hides_is_not_passed_off_as_one() -> None:
    """Of a hundred records that hardly die away none gives a negative damping, an error, or words of growing."""
    hidden = 0
    for seed in range(100):
        columns = record(seed, damping=0.003, noise=0.1, waves=3)
        if decay_record_faults(*columns):
            continue
        solution = shipped_build("otter").with_rows(ringing.decay_record, columns).solution
        _, damping, _, error, *_ = fitted_decay(columns)
        told = " ".join(w.validity.otherwise for w in solution.warnings)
        if damping <= 2 * error:
            hidden += 1
            assert "cannot tell the damping from none at all" in told
            assert "grows instead" not in told or damping < -2 * error
            assert all(
                solution.text(q) == "not defined"
                for q in (ringing.told_damping, ringing.damping_ratio, ringing.overshoot, ringing.waves_to_half)
            )
        else:
            assert solution[ringing.damping_ratio] == damping
        for quantity in (ringing.telling_waves, ringing.push_needed, ringing.visible_share):
            assert solution[quantity] > 0
    assert hidden > 20


def test_a_drift_of_the_sensor_is_taken_out() -> None:
    time, reading = record(7, damping=0.06, noise=0.01)
    still, drifting = fit_damped_sine(time, reading), fit_damped_sine(time, reading + 8 * time)
    assert drifting.slope == pytest.approx(still.slope + 8, rel=1e-3)
    for name in ("frequency", "damping", "frequency_error", "damping_error", "noise"):
        assert getattr(drifting, name) == pytest.approx(getattr(still, name), rel=1e-3), name
    assert decay_record_faults(time, reading + 8 * time) == []
    level = shipped_build("otter").with_rows(ringing.decay_record, (time, reading)).solution
    tilted = shipped_build("otter").with_rows(ringing.decay_record, (time, reading + 8 * time)).solution
    assert tilted[ringing.crest_damping] == pytest.approx(level[ringing.crest_damping], rel=1e-3)


def test_what_a_record_holds_is_told_beside_the_fit() -> None:
    time, reading = record(5, waves=6, rate=12, noise=0.02)
    *_, signal, waves, readings, step = fitted_decay((time, reading))
    assert signal == pytest.approx(1 / 0.02, rel=0.3)
    assert waves == pytest.approx(6, rel=0.03) and readings == pytest.approx(12, rel=0.02) and step == pytest.approx(1)
    lost = np.r_[0:20, 26:72]
    assert fitted_decay((time[lost], reading[lost]))[-1] == pytest.approx(7)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"waves": 2.2, "rate": 12, "noise": 0.06, "damping": 0.02}, "the record is too short to tell"),
        ({"noise": 0.2}, "the record is noisy"),
        ({"rate": 3.1, "waves": 12}, "fewer than four readings in a wave"),
    ],
)
def test_a_poor_record_is_fitted_and_told(change: dict[str, float], said: str) -> None:
    columns = record(8, **change)
    build = shipped_build("otter").with_rows(ringing.decay_record, columns)
    told = [warned.validity.otherwise for warned in build.solution.warnings]
    assert any(said in words for words in told)
    assert math.isfinite(build.solution[ringing.visible_share])


def test_missing_readings_and_a_ringing_of_something_else_are_told() -> None:
    time, reading = record(4, hertz=20.0, noise=0.01)
    for columns, said in (
        ((np.delete(time, np.s_[20:26]), np.delete(reading, np.s_[20:26])), "some readings are missing"),
        ((time / 2, reading), "much faster than masses and springs give"),
        ((time * 2, reading), "much slower than masses and springs give"),
    ):
        build = shipped_build("otter").with_rows(ringing.decay_record, columns)
        assert said in " ".join(warned.validity.otherwise for warned in build.solution.warnings)
    assert [w for w in shipped_build("otter").solution.warnings if w.node.id.startswith("ringing.")] == []
    # What swings ever wider is refused at the door; a fit that is asked all the same says so.
    grown = fit_damped_sine(time, 3.0 + (reading - 3.0) * np.exp(3 * 0.05 * 2 * math.pi * 20.0 * time))
    assert grown.damping < 0


GOOD = record(9)
CLIPPED = (GOOD[0], np.clip(GOOD[1], 2.6, 3.5))
#: Eight readings in a wave: three of a crest are never cut off alike, but the next crest comes as high again.
COARSE = record(3, hertz=20, damping=0.04, rate=8, noise=0.0, waves=6)
QUIET = np.arange(36) / (12 * 21)
BEFORE = (
    np.r_[QUIET, QUIET[-1] + 1 / (12 * 21) + GOOD[0]], np.r_[3 + 0.01 * np.cos(37 * np.arange(36)), GOOD[1]]
)  # fmt: skip


@pytest.mark.parametrize(
    ("columns", "said"),
    [
        ((GOOD[0], GOOD[1]), ""),
        ((GOOD[0][:8], GOOD[1][:8]), "8 readings are too few: give at least 12"),
        ((GOOD[0], np.full_like(GOOD[1], 2.0)), "all readings are alike"),
        ((GOOD[0][::-1], GOOD[1]), "does not come after"),
        ((np.where(np.arange(72) == 9, GOOD[0][8], GOOD[0]), GOOD[1]), "row 10: the time 31.75 ms does not come after"),
        ((GOOD[0], np.where(np.arange(72) == 3, np.nan, GOOD[1])), "must be a finite number"),
        (CLIPPED, "the crests are cut off or rounded too coarsely"),
        (COARSE, ""),
        (
            (COARSE[0], np.clip(COARSE[1], 2.4, 3.6)),
            "comes back in 2 crests: the crests are cut off or rounded too coarsely",
        ),
        (BEFORE, "after the record begins: the record begins before the tap"),
        ((GOOD[0], GOOD[1][::-1]), "the vibration grows instead of dying away"),
        ((GOOD[0][:14], GOOD[1][:14] + np.linspace(0, -0.01, 14)), "less than two waves"),
    ],
)
def test_each_fault_of_a_record_is_said(columns: tuple[np.ndarray, np.ndarray], said: str) -> None:
    faults = decay_record_faults(*columns)
    assert (said in "\n".join(faults)) if said else faults == []


def csv_text(header: str, columns: tuple[np.ndarray, np.ndarray], scale: float, mark: str = ",") -> str:
    rows = (f"{scale * t:.4f}{mark} {y:.4f}" for t, y in zip(*columns, strict=True))
    return "\n".join([header, *rows, ""])


@pytest.mark.parametrize(
    ("header", "scale", "mark"),
    [
        ("time [s], acceleration [m/s**2]", 1.0, ","), ("time [ms]; displacement [um]", 1000.0, ";"),
        ("\ufefftime [s]\treading", 1.0, "\t"), ("time [s], acceleration", 1.0, ","),
        ("Time (s);Acceleration x (m/s^2)", 1.0, ";"), ("time [s], acceleration [g]", 1.0, ","),
    ],
)  # fmt: skip
def test_a_record_is_read_from_csv(header: str, scale: float, mark: str) -> None:
    time, reading = read_decay_csv(csv_text(header, GOOD, scale, mark))
    assert time == pytest.approx(GOOD[0], abs=1e-4) and reading == pytest.approx(GOOD[1], abs=1e-4)


def test_decimal_commas_between_commas_and_columns_the_other_way_round_are_read() -> None:
    """As a spreadsheet of another country writes it, and as a phone orders it."""
    commas = "\n".join(f"{1000 * t:.3f},{y:.4f}".replace(".", ",") for t, y in zip(*GOOD, strict=True))
    turned = "\n".join(f"{y:.4f}, {1000 * t:.3f}" for t, y in zip(*GOOD, strict=True))
    for text in (f"time [ms],reading\n{commas}\n", f"reading, time [ms]\n{turned}\n"):
        time, reading = read_decay_csv(text)
        assert time == pytest.approx(GOOD[0], abs=1e-6) and reading == pytest.approx(GOOD[1], abs=1e-4)


@pytest.mark.parametrize("key", ["motor_height", "plate_height", "hopper_height"])
def test_a_head_all_at_the_rail_is_told_that_nothing_resists_tilting(key: str) -> None:
    otter = shipped_build("otter")
    low = dict.fromkeys(("motor_height", "plate_height", "hopper_height"), 0.08) | {
        "rail_height": 80e-3, "heated_length": 23.5e-3, "tube_length": 113e-3,
    }  # fmt: skip
    for name, value in low.items():
        otter = otter.with_value(Q[name], value)
    told = " ".join(w.validity.otherwise for w in otter.solution.warnings if w.node.id == "ringing.rail_inertia")
    assert otter.solution[Q["rail_inertia"]] == 0 and "no mass resists tilting" in told
    mended = otter.with_value(Q[key], 90e-3).solution
    assert not [w for w in mended.warnings if w.node.id == "ringing.rail_inertia"]
    assert math.isfinite(mended[ringing.visible_share])


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "the text is empty: expected a first line"),
        ("0, 1\n1, 2\n", "line 1: '0,  1': expected a first line"),
        ("time, reading\n0, 1\n", "say the unit of the time"),
        ("time [mm], reading\n0, 1\n", "line 1: time [mm]: is in mm, but a value in s is expected"),
        ("time [s], acceleration [mm]\n0, 1\n", "acceleration [mm]: is in mm, but a value in m/s² is expected"),
        ("time [parsnip], reading\n0, 1\n", "is not a unit known here"),
        ("time [s], reading, reading\n0, 1, 1\n", "3 columns: keep the time and the one"),
        ("reading, time [s]\n1, 0\n2, 1\n", "2 readings are too few"),
        ("time [s], reading\n3, 0\n1, 1\n2, 3\n", "line 1: the column called time goes up and down"),
        ("time [s], x, y, z\n0, 1, 2, 3\n", "line 1: 'time [s],  x,  y,  z': 4 columns: keep the time and the one"),
        ("Time (mm), Reading\n0, 1\n", "line 1: time [mm]: is in mm"),
        ("time [s], reading\n0,1, 1,5\n2, 1,5\n", "line 3: 3 values instead of 2: commas separate both"),
        ("time [s], reading\n0, 1\n1\n", "line 3: 1 value instead of 2"),
        ("time [s], reading\n0, 1\n1, 0x2\n", "line 3, reading: '0x2' is not a number"),
        ("time [s], reading\n0, 1\n1, 2\n", "2 readings are too few"),
    ],
)
def test_each_fault_of_a_csv_names_its_line(text: str, said: str) -> None:
    with pytest.raises(DecayRecordError, match=re.escape(said)):
        read_decay_csv(text)


@pytest.mark.parametrize(
    ("before", "after", "said"),
    [
        ('["45.8 ms", "3.53"]', '["35.8 ms", "3.53"]', "row 12: the time 35.80 ms does not come after 41.70 ms"),
        ('["45.8 ms", "3.53"]', '["45.8 s", "3.53"]', "row 13: the time"),
        ('["45.8 ms", "3.53"]', '["45.8 ms", "3.53 Hz"]', 'carriage.decay_record, row 12 = "3.53 Hz"'),
        ('slide_stiffness = { nominal = "25 N/mm"', 'slide_stiffness = { nominal = "-25 N/mm"', "expected 0.5 to 2000"),
        (
            'tilt_stiffness = { nominal = "3 N*m/deg"',
            'tilt_stiffness = { nominal = "0 N*m/deg"',
            "expected 0.05 to 2000",
        ),
        ('carriage_mass = { nominal = "520 g"', 'carriage_mass = { nominal = "0 g"', "expected 20 to 5000 g"),
        ('motor_mass = "280 g"', 'motor_mass = "-1 g"', "expected 20 to 3000 g"),
        ('ringing_from = "record"', 'ringing_from = "recording"', "did you mean 'record'?"),
    ],
)
def test_bad_values_in_a_build_are_told(before: str, after: str, said: str) -> None:
    from augerbook.tables import data_path

    text = data_path("builds", "otter.toml").read_text(encoding="utf-8")
    assert before in text
    with pytest.raises(BuildError) as refused:
        read_build(text.replace(before, after))
    assert said in str(refused.value)


def test_as_many_readings_as_are_taken_can_be_posted_and_more_are_told() -> None:
    time = np.arange(MOST_SAMPLES + 1) * 0.001234567
    reading = 3.3 + 1.2345678 * np.exp(-3 * time) * np.cos(2 * np.pi * 23 * time)
    assert decay_record_faults(time[:-1], reading[:-1]) == []
    build = shipped_build("otter").with_rows(ringing.decay_record, (time[:-1], reading[:-1]))
    again = read_build(build.toml())
    np.testing.assert_allclose(again.rows[ringing.decay_record], (time[:-1], reading[:-1]), rtol=1e-11)
    assert f"{MOST_SAMPLES + 1} readings are too many" in decay_record_faults(time, reading)[0]


def test_a_record_survives_a_post_and_a_build_without_one_works_elsewhere() -> None:
    build = shipped_build("otter")
    again = read_build(build.toml())
    for old, new in zip(build.rows[ringing.decay_record], again.rows[ringing.decay_record], strict=True):
        assert new == pytest.approx(old, rel=1e-12)
    bare = re.sub(r"\[carriage\].*?(?=\n\[|\Z)", "", build.toml(), flags=re.DOTALL)
    without = read_build(bare).solution
    assert math.isfinite(without[Q["springback_over_retraction"]])
    assert ringing.visible_share not in without.values
    for picture in pictures_of("ringing"):
        assert "needs" in picture.missing(without)


# --- pictures and sentences of the chapter


@pytest.mark.parametrize("name", list(BUILDS))
def test_discs_are_as_large_as_the_masses_and_stand_where_they_are(name: str) -> None:
    solution = BUILDS[name].solution
    scene = pictures_of("ringing")[0].scene(solution, REST)
    discs = [
        shape
        for shape in scene.shapes
        if isinstance(shape, Circles) and shape.style not in ("solid_ink", "solid_paper")
    ]
    areas = np.array([disc.radii[0] ** 2 for disc in discs])
    masses = [
        solution[Q["motor_mass"]] + solution[Q["gear_mass"]], solution[Q["plate_mass"]], solution[ringing.granule_mass],
        solution[Q["carriage_mass"]],
    ]  # fmt: skip
    assert areas / areas[0] == pytest.approx(np.array(masses) / masses[0], rel=1e-9)
    heights = [(shape.centres[0] - scene._shift)[1] / scene._stretch[1] for shape in discs]
    keys = ("motor_height", "plate_height", "hopper_height", "rail_height")
    assert heights == pytest.approx([solution.shown(Q[key]) for key in keys])


@pytest.mark.parametrize("variant", [SLOWER, FASTER])
@each_head
def test_a_head_that_rings_leans_as_its_way_of_ringing_says(solution: Solution, variant: str) -> None:
    scene = pictures_of("ringing")[0].scene(solution, variant)
    mass, stiffness, nozzle = matrices(solution)
    _, ways = eigh(stiffness, mass)
    way = ways[:, 0 if variant == SLOWER else 1]
    leaning = next(shape for shape in scene.shapes if getattr(shape, "style", "") == "heavy")
    upright = next(shape for shape in scene.shapes if getattr(shape, "style", "") == "centre")
    ends = (leaning.points - upright.points)[:, 0]
    top = float(((upright.points - scene._shift) / scene._stretch)[1, 1]) / 1000
    expected = [float(nozzle @ way), float(way[0] + way[1] * (top - solution[Q["rail_height"]]))]
    assert ends[0] * expected[1] == pytest.approx(ends[1] * expected[0], rel=1e-5, abs=1e-9)


@pytest.mark.parametrize("name", shipped_builds())
def test_the_drawn_wall_is_the_integrated_one(name: str) -> None:
    solution = shipped_build(name).solution
    _, off, places, edge = wall_after_a_corner(solution)
    speed, acceleration = solution[Q["line_speed"]], solution[Q["print_acceleration"]]
    time = np.linspace(0.0, (places[-1]) / speed + speed / acceleration, len(off))
    ramp = speed / acceleration
    (expected,) = integrated(solution, acceleration, [ramp], time, solution[ringing.damping_ratio])
    assert off == pytest.approx(expected, abs=1e-5 * np.abs(expected).max())
    assert edge.max() == pytest.approx(off.max(), rel=0.02)
    assert "deviations drawn" in pictures_of("ringing")[1].scene(solution).alt


def test_the_bars_of_equal_stiffness_are_as_long_as_the_masses() -> None:
    scene = figures.draw_equal_stiffness({"one": 10.0, "two": 25.0}, "Equally stiff")
    first, second = (np.ptp(s.points[:, 0]) for s in scene.shapes if getattr(s, "style", "") in ("plate", "metal"))
    assert second / first == pytest.approx(2.5)


def test_the_graph_over_the_plate_ends_at_what_a_weightless_plate_allows() -> None:
    for name in shipped_builds():
        solution = shipped_build(name).solution
        plot = graphs.plate_between_both(solution)(solution)
        none = float(re.search(r"weightless plate ([\d.]+) mm", plot.alt)[1])  # type: ignore[index]
        thin, twice = (
            changed(name, plate_thickness=t).solution.shown(ringing.highest_acceleration) for t in (0.5, 1.0)
        )
        assert solution.shown(ringing.highest_acceleration) < thin
        assert none == pytest.approx(2 * thin - twice, abs=0.5)  # told with three digits


def many_heads(count: int) -> dict[str, np.ndarray]:
    """Heads of the size of a maker's, drawn evenly or by their logarithm; SI units."""
    random = np.random.default_rng(17)
    draw = {
        "slide_stiffness": np.exp(random.uniform(np.log(5e3), np.log(2e5), count)),
        "tilt_stiffness": np.exp(random.uniform(np.log(40), np.log(2000), count)),
        "rail_height": random.uniform(0.03, 0.12, count), "motor_height": random.uniform(0.11, 0.18, count),
        "plate_height": random.uniform(0.09, 0.12, count), "hopper_height": random.uniform(0.09, 0.18, count),
        "carriage_mass": random.uniform(0.2, 1.0, count), "motor_mass": random.uniform(0.12, 0.5, count),
        "gear_mass": random.uniform(0.05, 0.3, count), "visible_wave": random.uniform(0.01, 0.05, count) * 1e-3,
        "line_width": random.uniform(0.5e-3, 2e-3, count),
    }  # fmt: skip
    return draw


def test_the_rule_of_thumb_holds_where_the_chapter_says_so() -> None:
    drawn = many_heads(4000)
    build = shipped_build("otter")
    outputs = [ringing.highest_acceleration, ringing.quiet_speed, ringing.lower_frequency, ringing.centre_height]
    sweep = build.network.compile(outputs, [Q[key] for key in drawn], build.values, build.choices)
    highest, quiet, hertz, above = sweep(*drawn.values())
    rule = 10 * drawn["visible_wave"] * hertz**2
    standing = above > 0
    ratio = (highest / rule)[standing]
    assert standing.mean() > 0.8
    assert (ratio > 0.85).mean() > 0.95 and (ratio < 4.5).mean() > 0.95
    assert np.median(ratio) == pytest.approx(1.3, abs=0.1)
    slow = 2 * hertz * np.sqrt(drawn["visible_wave"] * drawn["line_width"])
    assert ((quiet / slow > 0.95) & (quiet / slow < 1.01)).mean() > 0.95


def test_the_rule_of_thumb_answers_the_exercise_on_the_quiet_speed() -> None:
    """Whoever takes the line's width for what it is less the wave, as the rule does, is told that it is right."""
    cells = nbformat.reads(chapter_of(ringing.SUBJECT).read_text(encoding="utf-8"), as_version=4).cells
    (asked,) = (c.source for c in cells if "exercise(ringing.quiet_speed" in c.source)
    (call,) = (node for node in ast.walk(ast.parse(asked)) if isinstance(node, ast.Call))
    changes = {word.arg: ast.literal_eval(word.value) for word in call.keywords if word.arg}
    head = shipped_build("otter").solution
    width, seen = (
        float(ureg.Quantity(changes[key]).to("mm").magnitude) if key in changes else head.shown(Q[key])
        for key in ("line_width", "visible_wave")
    )
    thumb = 2 * head.shown(ringing.lower_frequency) * math.sqrt(width * seen)
    assert repr(exercise(ringing.quiet_speed, f"{thumb:.4g} mm/s", **changes)) == "**Right.**"


def boxes(scene: Any, style: str) -> list[tuple[float, float, float, float]]:
    """Left, right, bottom and top of each outline of a style, in the scene's unit."""
    found = []
    for shape in scene.shapes:
        if isinstance(shape, Outline) and shape.style == style:
            points = (shape.points - scene._shift) / scene._stretch
            left, bottom = points.min(axis=0)
            right, top = points.max(axis=0)
            found.append((float(left), float(right), float(bottom), float(top)))
    return found


@pytest.mark.parametrize("name", list(BUILDS))
def test_the_drawn_head_has_its_sizes(name: str) -> None:
    solution = BUILDS[name].solution
    scene = pictures_of("ringing")[0].scene(solution, REST)
    mm = {key: solution.shown(Q[key]) for key in (
        "plate_thickness", "plate_height", "tube_outside_diameter", "tube_length", "heated_length", "rail_height",
        "motor_height",
    )}  # fmt: skip
    ((left, right, bottom, top),) = boxes(scene, "wall")
    axis = (left + right) / 2
    assert right - left == pytest.approx(mm["tube_outside_diameter"])
    assert (bottom, top) == pytest.approx((mm["heated_length"], mm["heated_length"] + mm["tube_length"]))
    ((left, right, bottom, top),) = boxes(scene, "plate")
    assert left + right == pytest.approx(2 * axis) and right > left + mm["tube_outside_diameter"]
    assert (bottom, top) == pytest.approx(
        (mm["plate_height"] - mm["plate_thickness"] / 2, mm["plate_height"] + mm["plate_thickness"] / 2)
    )
    ((left, right, _, top),) = boxes(scene, "screw")
    assert left + right == pytest.approx(2 * axis) and top == pytest.approx(mm["motor_height"])
    tip, block = sorted(boxes(scene, "hot"), key=lambda box: box[3])
    assert tip[2] == pytest.approx(0) and block[3] == pytest.approx(mm["heated_length"])
    ((left, right, bottom, top),) = boxes(scene, "metal")
    assert (bottom + top) / 2 == pytest.approx(mm["rail_height"]) and left < axis < right
    assert inside(scene)


def inside(scene: Any) -> bool:
    """Whether every outline lies within the window."""
    points = np.vstack([shape.points for shape in scene.shapes if isinstance(shape, Outline)])
    return bool((points[:, 0] >= -1).all() and (points[:, 0] <= 801).all() and (points[:, 1] >= -1).all()
                and (points[:, 1] <= scene.view_height + 1).all())  # fmt: skip


@pytest.mark.parametrize("name", list(BUILDS))
def test_the_drawn_wall_has_its_sizes(name: str) -> None:
    solution = BUILDS[name].solution
    scene = pictures_of("ringing")[1].scene(solution)
    times = float(re.search(r"drawn ([\d.e+]+) times", scene.title)[1])  # type: ignore[index]
    along, off, places, edge = wall_after_a_corner(solution)
    ((left, right, bottom, top),) = boxes(scene, "plastic")
    assert (left, right) == pytest.approx((0.0, 1000 * places[-1]))
    assert top == pytest.approx(1000 * times * edge.max()) and bottom < 1000 * times * edge.min()
    ((_, _, low, high),) = boxes(scene, "main")
    within = off[along <= places[-1]]
    assert (low, high) == pytest.approx((1000 * times * within.min(), 1000 * times * within.max()))
    ((left, right, low, high),) = boxes(scene, "centre")
    assert low == high == pytest.approx(0.0, abs=1e-12) and left < -0.01 * 1000 * places[-1] < 1000 * places[-1] < right
    assert inside(scene)
