"""Air against the packed beds of the library fluids, networks of cells, voids closed bit by bit, and plain limits."""

import math
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from augerbook.builds.shipped import shipped_build
from augerbook.chapters import whole_head
from augerbook.chapters.air import SUBJECT
from augerbook.chapters.air.picture import draw_gap
from augerbook.chapters.heat.picture import temperatures_in
from augerbook.chapters.pictures import pictures_of
from augerbook.core.network import Solution
from augerbook.core.spread import spread
from fluids.packed_bed import Carman, Ergun
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad, solve_ivp
from scipy.sparse import coo_array
from scipy.sparse.linalg import spsolve

from tests.chapters.chapters import words_of

BUILD = {
    "sphericity": 0.7, "closing_share": 0.07, "air_viscosity": 21.0, "void_share": 0.65, "grain_sauter": 0.8,
    "wanted_flow": 2.5, "cold_length": 40.0, "inlet_pressure": 70.0, "fusing_time": 8.0, "flight_fill": 95.0,
    "needed_exponent": 0.1, "ring_load": 2.0, "nozzle_pressure": 4.0,
    "major_diameter": 6.0, "core_diameter": 4.2, "pitch": 2.6, "flank_half_angle": 30.0, "crest_width": 0.15,
    "bore_diameter": 8.0,
}  # fmt: skip


def solve(**changes: float) -> Solution:
    """Solve the head for the build above, with changes; values in the units shown to people."""
    quantities = whole_head().quantities
    return whole_head().solve({quantities[key]: quantities[key].si(value) for key, value in (BUILD | changes).items()})


def values(keys: str, **changes: float) -> list[float]:
    """Some solved values in SI."""
    solution = solve(**changes)
    return [solution[whole_head().quantities[key]] for key in keys.split()]


# --- the bed ----------------------------------------------------------------------------------


@pytest.mark.outside("air.bed_permeability", "air.effective_grain", "air.bed_drop", by="fluids.packed_bed.Carman")
@pytest.mark.parametrize(("size", "voids", "roundness"), [(0.8, 0.65, 0.7), (0.1, 0.4, 1.0), (2.0, 0.5, 0.5)])
def test_drop_of_the_cold_bed(size: float, voids: float, roundness: float) -> None:
    given = {"grain_sauter": size, "void_share": voids, "sphericity": roundness}
    keys = "bed_drop air_flow open_way bed_permeability effective_grain"
    drop, flow, way, permeability, ball = values(keys, **given)
    assert ball == pytest.approx(size * roundness * 1e-3, rel=1e-12)
    velocity = flow / way
    # Air of no weight: the term for fast flow is gone.
    carman = Carman(ball, voids, velocity, 1e-9, 21e-6, L=0.040)
    assert drop == pytest.approx(carman, rel=1e-5)
    assert permeability == pytest.approx(21e-6 * velocity * 0.040 / carman, rel=1e-5)


@pytest.mark.parametrize("name", ["otter", "wren"])
def test_air_really_creeps(name: str) -> None:
    """Real air of 1.2 kg/m³ in the narrower way: Carman differs by less than 2 %, Ergun, with 150, by the ratio."""
    known = {q.key: value for q, value in shipped_build(name).solution.values.items()}
    velocity = known["air_flow"] / known["helix_way"] * math.sin(known["helix_angle_mean"])
    at = (known["effective_grain"], known["void_share"], velocity, 1.2, known["air_viscosity"])
    creeping = known["air_viscosity"] * velocity / known["bed_permeability"]
    assert Carman(*at) == pytest.approx(creeping, rel=0.02)
    assert Ergun(*at) == pytest.approx(creeping * 150 / 180, rel=0.02)


@pytest.mark.outside("air.air_flow", by="plug and voids stepped in time, NumPy")
def test_air_that_comes_in_stands_still() -> None:
    """A bed moves on; the front where it fuses does not. The air that each step squeezes out is what must go back."""
    (flow,) = values("air_flow")
    section, step = 12.0, 1e-3
    advance = 2.5 / (0.35 * section)
    fused = [section * advance * step * 0.65 for _ in range(1000)]
    assert flow * 1e9 == pytest.approx(sum(fused) / 1.0, rel=1e-9)


# --- two ways ---------------------------------------------------------------------------------


def resistance(turns: int, per_turn: int, ring: float) -> float:
    """Resistance (over 1/permeability, per m³) of a screw's room as a network of cells, from one end to the other.

    Cells follow the channel, ``per_turn`` a turn. Each is joined to the next along the channel and, through the gap
    over the flight, to the cell one turn further. The gap has the section ``ring`` (m²).
    """
    pitch, section, slope = 0.0026, 10.9e-6, math.atan(0.0026 / (math.pi * 0.0051))
    cells = turns * per_turn
    along = pitch / math.sin(slope) / per_turn
    channel = section * math.sin(slope) / along
    over = ring / per_turn / pitch
    first = np.arange(cells - 1)
    further = np.arange(cells - per_turn)
    one = np.concatenate([first, further])
    two = np.concatenate([first + 1, further + per_turn])
    joint = np.concatenate([np.full(len(first), channel), np.full(len(further), over)])
    # A turn at either end is held at one pressure: in from all cells of the first, out of all of the last.
    held = np.concatenate([np.arange(per_turn), np.arange(cells - per_turn, cells)])
    matrix = coo_array(
        (
            np.concatenate([joint, joint, -joint, -joint]),
            (np.concatenate([one, two, one, two]), np.concatenate([one, two, two, one])),
        ),
        shape=(cells, cells),
    ).tocsr()
    pressure = np.zeros(cells)
    pressure[:per_turn] = 1.0
    free = np.setdiff1d(np.arange(cells), held)
    pressure[free] = spsolve(matrix[free][:, free], -(matrix @ pressure)[free])
    return float(1.0 / (matrix @ pressure)[:per_turn].sum())


@pytest.mark.outside(
    "air.helix_way", "air.open_way", "air.straight_way", "air.gap_gain", by="network of cells, scipy.sparse.linalg"
)
@pytest.mark.parametrize("ring", [0.0, 0.05e-6, 0.5e-6, 22e-6])
def test_ways_are_those_of_a_network(ring: float) -> None:
    """The resistance of 20 more turns, so that the ends do not matter."""
    more = resistance(40, 24, ring) - resistance(20, 24, ring)
    keys = "helix_way open_way gap_gain straight_way"
    given = {"lining_section": 10.9, "carried_section": 10.9 + ring * 1e6}
    helix, both, gain, straight = values(keys, **given)
    assert both == pytest.approx(20 * 0.0026 / more, rel=2e-3)
    assert gain == pytest.approx(both / helix, rel=1e-12)
    assert straight == pytest.approx(ring, rel=1e-9, abs=1e-15)


# --- closing voids ----------------------------------------------------------------------------


@pytest.mark.outside(
    "air.closing_factor", "air.fusing_drop_open", "air.fusing_drop_sealed", "air.air_pressure",
    by="fluids.packed_bed.Carman summed over closing voids, scipy.integrate.quad",
)  # fmt: skip
@pytest.mark.parametrize(("voids", "closing"), [(0.65, 0.07), (0.5, 0.03), (0.4, 0.15)])
def test_drop_in_closing_voids(voids: float, closing: float) -> None:
    keys = "fusing_drop_open fusing_drop_sealed closing_factor open_way helix_way fusing_length effective_grain"
    keys += " air_pressure bed_drop"
    found = values(keys, void_share=voids, closing_share=closing)
    gap, sealed, factor, both, helix, length, ball, whole, bed = found

    def slope(place: float, way: float) -> float:
        share = voids + (closing - voids) * place / length
        flow = 2.5e-9 * share / (1 - share)
        return float(Carman(ball, share, flow / way, 1e-12, 21e-6))

    for drop, way in ((gap, both), (sealed, helix)):
        assert drop == pytest.approx(quad(slope, 0, length, args=(way,))[0], rel=1e-4)
    mean = quad(lambda e: (1 - e) / e**2, closing, voids)[0] / (voids - closing)
    assert factor == pytest.approx(mean, rel=1e-9)
    assert whole == pytest.approx(bed + sealed, rel=1e-12)


@pytest.mark.outside(
    "air.fusing_length", "air.moved_section", by="the plug of the chapter on conveying, turned step by step"
)
@pytest.mark.parametrize("name", ["otter", "wren"])
def test_fusing_length_is_what_the_plug_moves(name: str) -> None:
    known = {q.key: value for q, value in shipped_build(name).solution.values.items()}
    step, moved = known["fusing_time"] / 500, 0.0
    for _ in range(500):
        moved += known["conveying_efficiency"] * known["pitch"] * known["speed_for_flow"] * step
    assert known["fusing_length"] == pytest.approx(moved, rel=1e-9)


@pytest.mark.outside(
    "air.escape_time",
    "air.air_margin",
    "air.air_margin_open",
    by="air driven out step by step, scipy.integrate.solve_ivp",
)
def test_time_and_pressure_tell_the_same() -> None:
    """With the pressure at the inlet, the air that fusing sets free in its time leaves sooner by the margin."""
    margin, escape, pressure, flow, other = values("air_margin escape_time air_pressure air_flow air_margin_open")
    resists = pressure / flow

    def left(_: float, gone: np.ndarray) -> list[float]:
        return [70.0 / resists]

    def all_gone(_: float, gone: np.ndarray) -> float:
        return float(gone[0] / (flow * 8.0) - 1)

    all_gone.terminal = True  # type: ignore[attr-defined]
    found = solve_ivp(left, (0, 1000), [0.0], events=all_gone).t_events[0][0]
    assert escape == pytest.approx(found, rel=1e-6)
    assert margin == pytest.approx(8.0 / found, rel=1e-6)
    drops = values("bed_drop fusing_drop_open")
    assert other == pytest.approx(70.0 / sum(drops), rel=1e-12)


# --- limits and directions --------------------------------------------------------------------


@given(
    size=st.floats(0.05, 3.0), voids=st.floats(0.3, 0.8), closing=st.floats(0.01, 0.2), bore=st.floats(6.05, 10.0),
    more=st.floats(1.05, 3.0),
)  # fmt: skip
def test_directions(size: float, voids: float, closing: float, bore: float, more: float) -> None:
    at = {"grain_sauter": size, "void_share": voids, "closing_share": closing, "bore_diameter": bore}
    margin, gap_open = values("air_margin air_margin_open", **at)
    assert 0 < margin < gap_open
    assert values("air_margin", **(at | {"grain_sauter": size * more}))[0] == pytest.approx(margin * more**2, rel=1e-9)
    assert values("air_margin", **(at | {"wanted_flow": 2.5 * more}))[0] < margin
    assert values("air_margin", **(at | {"fusing_time": 8.0 * more}))[0] < margin
    assert values("air_margin", **(at | {"closing_share": closing / more}))[0] < margin
    assert values("gap_gain", **(at | {"bore_diameter": bore * more}))[0] > values("gap_gain", **at)[0]


def test_no_gap_leaves_only_the_way_round() -> None:
    gain, straight, sealed, gap = values("gap_gain straight_way air_margin air_margin_open", bore_diameter=6.0)
    assert [gain, straight] == pytest.approx([1.0, 0.0], abs=1e-9)
    assert sealed == pytest.approx(gap, rel=1e-9)


def test_voids_that_close_before_they_begin_are_said() -> None:
    found = [str(w) for w in solve(void_share=0.15, closing_share=0.2).warnings if w.node.id.startswith("air.")]
    assert any("air.closing_factor: the grains lie closer" in words for words in found)
    assert not [w for w in solve().warnings if w.node.id.startswith("air.")]


# --- pictures and prose -----------------------------------------------------------------------

DRAWINGS = [picture.scene for picture in pictures_of("air")] + [draw_gap]


@pytest.mark.parametrize("draw", DRAWINGS)
@pytest.mark.parametrize("size", [0.01, 0.8, 5.0])
@pytest.mark.parametrize(("pitch", "bore"), [(0.5, 6.02), (2.6, 8.0), (12.0, 25.0)])
def test_pictures_draw_at_the_ends_of_the_sliders(
    draw: Callable[[Solution], Any], size: float, pitch: float, bore: float
) -> None:
    solution = solve(grain_sauter=size, pitch=pitch, bore_diameter=bore)
    drawn = draw(solution)
    assert "<svg" in drawn.svg()
    assert whole_head().quantities["gap_gain"].text(solution[whole_head().quantities["gap_gain"]]) in drawn.alt


def test_what_the_chapter_says_of_the_shipped_builds() -> None:
    """The chapter computes its figures; what its prose says about them holds for the builds as they are."""
    quantities = whole_head().quantities
    for build in ("otter", "wren"):
        shipped = shipped_build(build)
        known = {q.key: value for q, value in shipped.solution.values.items()}
        around = spread(whole_head(), quantities["air_margin"], shipped.values, shipped.ends, shipped.choices)
        assert around.high > 2 * around.nominal and around.low < 1
        assert known["plug_pressure"] > 1e5 * known["air_pressure"]
        slow = known["bed_drop"] + known["fusing_drop_sealed"] * known["softened_length"] / known["fusing_length"]
        assert (0.5 * known["inlet_pressure"] < slow < known["inlet_pressure"]) == (build == "otter")
        assert slow > 0.5 * known["inlet_pressure"]
        # Below an outlet that runs: the stress along an arch as wide as it, times the flow factor.
        stress = known["loose_density"] * 9.80665 * known["outlet_diameter"]
        stress /= 2 + math.degrees(known["hopper_half_angle"]) / 60
        running = stress * known["flow_factor"]
        assert running == pytest.approx({"otter": 24, "wren": 35}[build], abs=0.5)
        assert running / known["air_pressure"] == pytest.approx({"otter": 1.8, "wren": 1.9}[build], abs=0.05)
        assert known["fusing_length"] < 0.01 and known["bed_drop"] < 0.1 * known["air_pressure"]
        assert math.sin(known["helix_angle_mean"]) ** 2 < 1 / 35


def test_what_the_chapter_says_of_otter_with_other_values() -> None:
    otter, quantities = shipped_build("otter"), whole_head().quantities
    known = {q.key: value for q, value in otter.solution.values.items()}

    def margin(**changes: float) -> float:
        moved = {quantities[key]: value for key, value in changes.items()}
        return whole_head().solve({**otter.values, **moved}, otter.choices)[quantities["air_margin"]]

    without_gap = known["bed_drop"] * known["gap_gain"] + known["fusing_drop_sealed"]
    assert known["inlet_pressure"] > 3 * without_gap
    assert margin(wanted_flow=known["wanted_flow"] / 2) == pytest.approx(4 * known["air_margin"], rel=0.01)
    assert margin(wanted_flow=known["wanted_flow"] * 2) == pytest.approx(known["air_margin"] / 4, rel=0.01)
    assert margin(grain_sauter=known["grain_sauter"] / 2) == pytest.approx(known["air_margin"] / 4, rel=0.01)
    assert margin(closing_share=0.01) < 1 < margin(closing_share=0.02)
    (gain,) = otter.solution.sweep([quantities["gap_gain"]], [quantities["bore_diameter"]])(
        np.array([known["major_diameter"] + 2e-4])
    )
    assert gain[0] == pytest.approx(8, rel=0.05), "a gap of a tenth of a millimetre: an eighth of the pressure"


def test_sphericity_counts_the_surface_that_the_sauter_mean_leaves_out() -> None:
    """A heap of cubes of several sizes: each holds as much as a ball of the size that the mean counts."""
    sizes, mass = np.array([0.3, 0.8, 1.5]), np.array([0.1, 0.5, 0.4])
    edges = (math.pi / 6) ** (1 / 3) * sizes
    surface = (mass * 6 / edges).sum()
    (ball,) = values(
        "effective_grain", grain_sauter=1 / (mass / sizes).sum(), sphericity=math.pi ** (1 / 3) * 6 ** (2 / 3) / 6
    )
    assert ball == pytest.approx(6e-3 / surface, rel=1e-9)
    assumed = whole_head().nodes["air.effective_grain"].assumptions
    assert any("have more surface by their sphericity alone" in words for words in assumed)


@pytest.mark.parametrize(("name", "as_permeable"), [("otter", 0.215), ("wren", 0.102)])
def test_a_gap_too_narrow_for_grains_passes_less_in_the_cold_and_more_where_they_fuse(
    name: str, as_permeable: float
) -> None:
    """An empty slit of the width s passes s²/12 beside the way round the screw; the chapter counts it as full."""
    known = {q.key: value for q, value in shipped_build(name).solution.values.items()}
    balls, loose, closed = known["effective_grain"], known["void_share"], known["closing_share"]

    def bed(voids: float) -> float:
        return float(balls**2 * voids**3 / (180 * (1 - voids) ** 2))

    assert math.sqrt(12 * bed(loose)) == pytest.approx(as_permeable * 1e-3, rel=0.01)
    slit = 1e-4
    assert bed(closed) < slit**2 / 12 < bed(loose)
    ring, helix = math.pi * (known["major_diameter"] + slit) * slit, known["helix_way"]

    def needed(gap: float | None) -> float:
        """Pressure for both parts; the gap passes as much as a slit, or as the bed beside it."""

        def slope(voids: float) -> float:
            passes = bed(voids) * helix + ring * (bed(voids) if gap is None else gap**2 / 12)
            return float(known["air_viscosity"] * known["wanted_flow"] * voids / (1 - voids) / passes)

        fusing = quad(slope, closed, loose)[0] / (loose - closed) * known["fusing_length"]
        return float(slope(loose) * known["cold_length"] + fusing)

    as_full = known["bed_drop"] + known["fusing_drop_open"]
    assert needed(None) == pytest.approx(as_full * known["open_way"] / (ring + helix), rel=1e-6)
    assert 0.5 * needed(None) < needed(slit) < 0.8 * needed(None)
    assumed = whole_head().nodes["air.open_way"].assumptions
    assert any("less so beside cold ones below one or two tenths of a millimetre" in words for words in assumed)


def test_ground_plastic_is_more_than_half_air_and_poured_balls_are_not() -> None:
    voids = whole_head().quantities["void_share"]
    assert all(shipped_build(name).solution[voids] > 0.5 for name in ("otter", "wren"))
    # Balls poured, from memory: two fifths. So are pellets, about.
    assert "ground plastic is more than half air" in words_of(SUBJECT)


@pytest.mark.parametrize(
    ("build", "weak", "warmer"), [("otter", 1.0, (8, 60)), ("wren", 1.0, (1, 60)), ("otter", 0.1, (-6, -1))]
)
def test_which_side_is_warm_where_the_plastic_softens(build: str, weak: float, warmer: tuple[float, float]) -> None:
    """Under a good cooler the screw is the warm side, so the ring in the gap fuses last; under a weak one the wall."""
    shipped, quantities = shipped_build(build), whole_head().quantities
    film = quantities["cooler_film"]
    solution = whole_head().solve({**shipped.values, film: weak * shipped.solution[film]}, shipped.choices)
    along, begins = temperatures_in(solution), solution[quantities["cold_length"]]
    screw, wall = (np.interp(begins, along.place[0], side[0]) for side in (along.screw, along.tube))
    assert warmer[0] < screw - wall < warmer[1]
    if build == "otter" and weak == 1.0:
        further = np.interp(begins + solution[quantities["fusing_length"]], along.place[0], along.tube[0])
        assert further < solution[quantities["softening_temperature"]], "the ring is still hard"


def test_heat_from_the_screws_side_takes_about_half_as_long_again() -> None:
    """An even pace of warming from one side of the ring, the other insulated: the lag over that from the wall."""
    otter, quantities = shipped_build("otter"), whole_head().quantities
    inner, outer = otter.solution[quantities["screw_radius"]], otter.solution[quantities["bore_diameter"]] / 2

    def lag(start: float, end: float) -> float:
        """Lag across the ring times the diffusivity, heat entering at ``start``, none leaving at ``end``."""
        return quad(lambda r: (end**2 - r**2) / (2 * r), start, end)[0]

    ratio = lag(inner, outer) / lag(outer, inner)
    assert ratio == pytest.approx(1.5, abs=0.15)
    low, high = otter.ends[quantities["fusing_factor"]]
    assert low < ratio * otter.solution[quantities["fusing_factor"]] < high


@pytest.mark.parametrize("name", ["otter", "wren"])
@pytest.mark.parametrize("factor", [0.5, 2.0])
def test_the_rule_of_thumb_half_the_flow_or_twice_the_grain_is_four_times_the_margin(name: str, factor: float) -> None:
    build, quantities = shipped_build(name), whole_head().quantities
    for key, better in (("wanted_flow", 1 / factor), ("grain_sauter", factor)):
        changed = build.values | {quantities[key]: factor * build.solution[quantities[key]]}
        margin = whole_head().solve(changed, build.choices)[quantities["air_margin"]]
        assert margin / build.solution[quantities["air_margin"]] == pytest.approx(better**2, rel=0.1)
