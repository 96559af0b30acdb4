"""Film coefficients of coolers against ht and fluids, and against the equations that they solve."""

import math
from typing import Any

import numpy as np
import pytest
from augerbook.builds.estimates import all_ways
from augerbook.builds.shipped import shipped_build
from augerbook.chapters import whole_head
from augerbook.chapters.heat import SUBJECT as HEAT
from augerbook.chapters.heat.films import round_fin
from augerbook.core.network import Solution
from augerbook.head.heating import FAN_BARE, FAN_FINS, FILM_KNOWN, STILL_AIR, WATER, cooler_kind
from augerbook.head.plastic import softening_temperature
from fluids.atmosphere import ATMOSPHERE_1976
from fluids.core import Grashof
from ht.air_cooler import h_Briggs_Young
from ht.conv_external import Nu_cylinder_Churchill_Bernstein
from ht.conv_free_immersed import Nu_vertical_cylinder_Popiel_Churchill, Nu_vertical_plate_Churchill
from ht.core import fin_efficiency_Kern_Kraus
from ht.radiation import q_rad
from scipy import constants
from scipy.integrate import solve_bvp

from tests.chapters.solving import changed, shown_in

KELVIN = 273.15
#: Beside otter as it is shipped: a thick hot tube, a thin cold one.
HEADS: dict[str, dict[str, Any]] = {
    "otter": {},
    "hot": {"softening_temperature": 150.0, "tube_outside_diameter": 16.0, "cooler_end": 64.0, "air_speed": 6.0,
            "sleeve_diameter": 20.0, "fin_diameter": 48.0, "fin_thickness": 0.5, "fin_gap": 3.0, "cooler_factor": 0.8,
            "fin_conductivity": 15.0, "tube_emissivity": 0.9},
    "cold": {"room_temperature": 5.0, "softening_temperature": 45.0, "tube_outside_diameter": 9.0, "cooler_start": 50.0,
             "air_speed": 1.5, "sleeve_diameter": 13.0, "fin_diameter": 18.0, "joint_gap": 0.1,
             "joint_conductivity": 0.027, "jacket_gap": 3.0},
}  # fmt: skip
each_head = pytest.mark.parametrize("changes", HEADS.values(), ids=HEADS)


def solved(changes: dict[str, Any], kind: str = FAN_FINS) -> Solution:
    build = changed("otter", **{"jacket_gap": 2.0, **changes})
    return whole_head().solve(build.values, {**build.choices, cooler_kind: kind})


def wall_and_room(solution: Solution) -> tuple[float, float]:
    softens, room = shown_in(solution, "softening_temperature room_temperature")
    return softens + KELVIN, room + KELVIN


@pytest.mark.outside("heat.film_temperature", "heat.cooled_length", by="by hand")
def test_between_wall_and_room() -> None:
    assert shown_in(solved({}), "film_temperature cooled_length") == pytest.approx([42.5, 46.0])


@pytest.mark.outside("heat.air", by="fluids, U.S. Standard Atmosphere of 1976")
@each_head
def test_air(changes: dict[str, float]) -> None:
    solution = solved(changes)
    t = sum(wall_and_room(solution)) / 2
    sticky, conducts = ATMOSPHERE_1976.viscosity(t), ATMOSPHERE_1976.thermal_conductivity(t)
    density = ATMOSPHERE_1976.density(t, 101325.0)
    nu, k, prandtl = shown_in(solution, "film_viscosity film_conductivity film_prandtl")
    assert nu == pytest.approx(1e6 * sticky / density, rel=1e-5)
    assert k == pytest.approx(conducts, rel=1e-9)
    assert prandtl == pytest.approx(1006 * sticky / conducts, rel=1e-9)
    assert 0.68 < prandtl < 0.72


def specific_heat_of_air(kelvin: float) -> float:
    """Molecules fly and turn, and vibrate as Einstein's oscillators (nitrogen 3393 K, oxygen 2273 K, from memory)."""
    parts = ((0.7809, 0.0280134, 3393.0), (0.2095, 0.0319988, 2273.0), (0.0093, 0.039948, math.inf))
    heat = mass = 0.0
    for share, molar, vibrates in parts:
        x = vibrates / kelvin
        heat += share * (2.5 if math.isinf(x) else 3.5 + (x / 2 / math.sinh(x / 2)) ** 2)
        mass += share * molar
    return heat * constants.R / mass


def test_air_takes_up_the_heat_that_is_said() -> None:
    """With PA6 the air beside the tube counts at 120 °C, and half a per cent is no longer enough."""
    assert specific_heat_of_air(300.0) == pytest.approx(1004.5, abs=1.0)
    softens = float(all_ways()[softening_temperature][0].rows["PA6"][0])
    beside = (softens + KELVIN + 25) / 2
    assert beside == pytest.approx(KELVIN + 120, abs=1)
    assert specific_heat_of_air(beside) > 1.005 * 1006
    (air,) = (node for node in HEAT.nodes if node.id == "heat.air")
    assert air.assumptions == ("1006 J/kg/K, which is right within one per cent up to 140 °C",)
    assert all(abs(specific_heat_of_air(KELVIN + t) / 1006 - 1) < 0.01 for t in range(0, 141, 10))


@pytest.mark.outside("heat.grashof_number", "heat.upright_nusselt", "heat.still_nusselt", by="fluids and ht")
@each_head
def test_still_air(changes: dict[str, float]) -> None:
    solution = solved(changes, STILL_AIR)
    wall, room = wall_and_room(solution)
    long, outside, nu, prandtl = shown_in(solution, "cooled_length tube_outside_diameter film_viscosity film_prandtl")
    driven = Grashof(long / 1e3, beta=2 / (wall + room), T1=wall, T2=room, nu=nu / 1e6)
    grashof, upright, still = shown_in(solution, "grashof_number upright_nusselt still_nusselt")
    assert grashof == pytest.approx(driven, rel=1e-6)
    assert upright == pytest.approx(Nu_vertical_plate_Churchill(prandtl, driven), rel=1e-6)
    assert still == pytest.approx(Nu_vertical_cylinder_Popiel_Churchill(prandtl, driven, long, outside), rel=1e-6)


@pytest.mark.outside("heat.radiation_film", "heat.stefan_constant", "heat.still_film", "heat.blown_film", by="ht")
@each_head
def test_radiation_is_added_to_the_air(changes: dict[str, float]) -> None:
    solution = solved(changes, STILL_AIR)
    wall, room = wall_and_room(solution)
    shines, factor, k, radiated = shown_in(solution, "tube_emissivity cooler_factor film_conductivity radiation_film")
    assert radiated == pytest.approx(q_rad(shines, wall, room) / (wall - room), rel=1e-5)
    for film, nusselt, length in (
        ("still_film", "still_nusselt", "cooled_length"),
        ("blown_film", "blown_nusselt", "tube_outside_diameter"),
    ):
        got, plain, long = shown_in(solution, f"{film} {nusselt} {length}")
        assert got == pytest.approx(
            factor * k * plain / (long / 1e3) + q_rad(shines, wall, room) / (wall - room), rel=1e-5
        )


@pytest.mark.outside("heat.blown_reynolds", "heat.blown_nusselt", by="ht, Churchill and Bernstein")
@each_head
def test_cross_wind(changes: dict[str, float]) -> None:
    solution = solved(changes, FAN_BARE)
    speed, outside, nu, prandtl = shown_in(solution, "air_speed tube_outside_diameter film_viscosity film_prandtl")
    reynolds, nusselt = shown_in(solution, "blown_reynolds blown_nusselt")
    assert reynolds == pytest.approx(speed * outside / 1e3 / (nu / 1e6), rel=1e-9)
    assert nusselt == pytest.approx(Nu_cylinder_Churchill_Bernstein(reynolds, prandtl), rel=1e-9)


@pytest.mark.outside(
    "heat.sleeve_reynolds", "heat.sleeve_nusselt", "heat.fin_openness", "heat.fin_slimness", "heat.fin_film",
    "heat.fin_gain", "heat.finned_film",
    by="ht, Briggs and Young, which goes on to the whole surface",
)  # fmt: skip
@each_head
def test_finned_sleeve(changes: dict[str, float]) -> None:
    """A metre of sleeve in a stream of air, summed by ht for fins that conduct perfectly and are as much smaller."""
    solution = solved({**changes, "cooler_factor": 1.0})
    root, tip, thick, gap, k_fin, speed, outside, joint, filling = shown_in(
        solution,
        "sleeve_diameter fin_diameter fin_thickness fin_gap fin_conductivity air_speed tube_outside_diameter joint_gap "
        "joint_conductivity",
    )
    t = sum(wall_and_room(solution)) / 2
    root, tip, thick, gap, outside, joint = (v / 1e3 for v in (root, tip, thick, gap, outside, joint))
    fins = 1 / (thick + gap)
    film, gain, whole = shown_in(solution, "fin_film fin_gain finned_film")
    # The edge counts as half a thickness more of fin, for its surface as for its efficiency.
    works = fin_efficiency_Kern_Kraus(Do=root, D_fin=tip + thick, t_fin=thick, k_fin=k_fin, h=film)
    of_fins = works * fins * (math.pi / 2 * (tip**2 - root**2) + math.pi * tip * thick)
    of_sleeve, density = fins * math.pi * root * gap, ATMOSPHERE_1976.density(t, 101325.0)
    around = h_Briggs_Young(
        m=speed * density, A=of_fins + of_sleeve, A_min=1.0, A_increase=(of_fins + of_sleeve) / (math.pi * root),
        A_fin=of_fins, A_tube_showing=of_sleeve, tube_diameter=root, fin_diameter=tip, fin_thickness=thick,
        bare_length=gap, rho=density, Cp=1006.0, mu=ATMOSPHERE_1976.viscosity(t),
        k=ATMOSPHERE_1976.thermal_conductivity(t), k_fin=1e12,
    )  # fmt: skip
    assert film * gain == pytest.approx(around, rel=1e-5)
    assert 1 / whole == pytest.approx(outside / (around * root) + joint / filling, rel=1e-5)
    at_more = shown_in(solved({**changes, "cooler_factor": 1.3}), "fin_film")[0]
    assert at_more == pytest.approx(1.3 * film)


@pytest.mark.outside("heat.fin_efficiency", by="ht, and SciPy's solve_bvp")
@pytest.mark.parametrize(
    ("film", "root", "tip", "thick", "conducts"),
    [(35.0, 0.014, 0.028, 1e-3, 167.0), (60.0, 0.012, 0.04, 0.4e-3, 15.0), (20.0, 0.03, 0.036, 2e-3, 0.25)],
)
def test_round_fin(film: float, root: float, tip: float, thick: float, conducts: float) -> None:
    inner, outer = root / 2, tip / 2 + thick / 2
    place = np.linspace(inner, outer, 41)
    pull = 2 * film / (conducts * thick)
    found = solve_bvp(
        lambda r, y: np.array([y[1], pull * y[0] - y[1] / r]), lambda a, b: np.array([a[0] - 1, b[1]]),
        place, np.array([np.ones(41), np.zeros(41)]), tol=1e-9, max_nodes=20000,
    )  # fmt: skip
    assert found.success
    through = -conducts * thick * 2 * math.pi * inner * found.sol(inner)[1]
    at_best = film * 2 * math.pi * (outer**2 - inner**2)
    got = float(round_fin(film, root, tip, thick, conducts))
    assert got == pytest.approx(through / at_best, rel=1e-6)
    # ht leaves the edge out, so it gets the half thickness as more of fin.
    longer = fin_efficiency_Kern_Kraus(Do=root, D_fin=tip + thick, t_fin=thick, k_fin=conducts, h=film)
    assert got == pytest.approx(longer, rel=1e-6)


@pytest.mark.outside("heat.water", by="Incropera, Table A.6 at 300 K, from memory")
def test_water_conducts() -> None:
    assert shown_in(solved({}, WATER), "water_film_conductivity") == pytest.approx([0.613], rel=0.015)


@pytest.mark.outside("heat.water_film", by="the energy equation of the stream, by SciPy's solve_bvp")
@each_head
def test_water_jacket(changes: dict[str, float]) -> None:
    """The slowest way in which a settled stream between a warm and an insulated wall cools: an eigenvalue."""

    def stream(y: np.ndarray, f: np.ndarray, p: np.ndarray) -> np.ndarray:
        return np.array([f[1], -p[0] * 6 * y * (1 - y) * f[0]])

    place = np.linspace(0, 1, 41)
    found = solve_bvp(
        stream, lambda a, b, p: np.array([a[0], a[1] - 1, b[1]]), place,
        np.array([np.sin(math.pi / 2 * place), np.cos(math.pi / 2 * place)]), p=[2.5], tol=1e-9, max_nodes=20000,
    )  # fmt: skip
    assert found.success
    factor, gap, conducts, film = shown_in(
        solved(changes, WATER), "cooler_factor jacket_gap water_film_conductivity water_film"
    )
    assert film == pytest.approx(factor * conducts * found.p[0] / (gap / 1e3), rel=2e-4)


@pytest.mark.parametrize(
    ("kind", "key"),
    [(STILL_AIR, "still_film"), (FAN_BARE, "blown_film"), (FAN_FINS, "finned_film"), (WATER, "water_film")],
)
def test_the_cooler_is_the_one_chosen(kind: str, key: str) -> None:
    cooler, chosen = shown_in(solved({}, kind), f"cooler_film {key}")
    assert cooler == chosen > 0


def test_a_known_film_is_taken_as_it_is() -> None:
    wren = shipped_build("wren")
    assert wren.choices[cooler_kind] == FILM_KNOWN
    assert shown_in(wren.solution, "cooler_film") == shown_in(wren.solution, "cooler_film_coefficient")


def test_kinds_of_coolers_have_the_order_that_makers_know() -> None:
    """Common practice: still air 5 to 15, a fan on a bare tube 30 to 100, and fins several times as much."""
    still, blown, finned, water = shown_in(solved({}), "still_film blown_film finned_film water_film")
    assert 5 < still < 15 and 30 < blown < 100 and finned > 4 * blown and water > finned
    loose = shown_in(solved({"joint_gap": 0.1, "joint_conductivity": 0.027}), "finned_film")[0]
    assert loose < 0.5 * finned


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"air_speed": 1.0}, "Reynolds numbers of 1000 to 8000"),
        ({"fin_gap": 0.3, "fin_diameter": 30.0}, "between 0.05 and 2.6 times their height"),
        ({"fin_diameter": 15.0}, "between 0.05 and 2.6 times their height"),
    ],
)
def test_outside_of_what_the_formula_was_found_for(changes: dict[str, float], words: str) -> None:
    assert any(words in str(warning) for warning in solved(changes).warnings)
    assert not any(words in str(warning) for warning in solved({}).warnings)
