"""Melt and nozzle against published figures, SciPy, fluids and ht, and what a melt must do."""

import math
import re
from itertools import pairwise
from typing import Any

import mpmath
import numpy as np
import pytest
from augerbook.builds.shipped import shipped_build
from augerbook.chapters import whole_head
from augerbook.chapters.melt import NOZZLE_INPUTS, SUBJECT, figures
from augerbook.chapters.melt.graphs import MeltGraphs
from augerbook.chapters.melt.models import (
    Nozzle,
    core_excess,
    core_fourier,
    nozzle_drop,
    pressure_along,
    temperature_shift,
    viscosity,
    wall_state,
)
from augerbook.chapters.pictures import pictures_of
from augerbook.core.network import Solution
from augerbook.core.units import ureg
from augerbook.head.plastic import VISCOSITY_INPUTS
from augerbook.tables import read_table
from fluids.friction import friction_factor
from ht.conv_internal import laminar_T_const
from hypothesis import example, given
from hypothesis import strategies as st
from scipy.constants import Avogadro, Boltzmann
from scipy.integrate import quad, solve_ivp
from scipy.linalg import eigh_tridiagonal
from scipy.optimize import brentq
from scipy.sparse import csc_array, diags_array

from tests.chapters.solving import shown_in, solved_at
from tests.soak import examples

KELVIN = 273.15
PLA = {
    "zero_viscosity": 5441.0, "critical_stress": 100.9, "power_index": 0.25,
    "transition": 0.75, "reference_temperature": 200.0, "wlf_slope": 2.985, "wlf_span": 151.6, "activation_energy": 0.0,
}  # fmt: skip
BUILD = {
    **PLA, "viscosity_feed": 100.0, "shear_limit": 0.5, "land_length": 1.5, "cone_half_angle": 30.0,
    "melt_bore_diameter": 3.0, "melt_bore_length": 10.0, "end_correction": 2.0, "nozzle_diameter": 0.6,
    "melt_flow": 2.7, "set_temperature": 205.0, "melt_temperature": 183.0, "fused_conductivity": 0.2,
    "feed_heat": 0.006, "melt_density": 1130.0,
    "melt_specific_heat": 1900.0, "plastic_section": 33.0, "heated_length": 14.0, "solid_density": 1240.0,
    "bore_diameter": 8.0, "screw_radius": 2.35, "sieve_mesh": 2.0, "softening_temperature": 60.0,
    "throat_temperature": 27.0, "soft_time": 300.0, "fusing_factor": 1.0,
}  # fmt: skip


def solve(**changes: float) -> Solution:
    """Solve for the build above, with changes; values in the units shown to people."""
    return solved_at(BUILD | changes)


def shown(keys: str, **changes: float) -> list[float]:
    """Some solved values in the units shown to people."""
    return shown_in(solve(**changes), keys)


def model(**changes: float) -> Nozzle:
    """What the model takes, for the build above with changes."""
    solution = solve(**changes)
    return Nozzle(*(solution[q] for q in NOZZLE_INPUTS))


# --- the flow law ---------------------------------------------------------------------------------


def law(rate: float, at: float, **parameters: float) -> float:
    """Viscosity with the parameters of PLA above, with changes (shown units), at a temperature in degC."""
    quantities = whole_head().quantities
    values = [quantities[key].si(value) for key, value in (PLA | parameters).items()]
    return float(viscosity(rate, at + KELVIN, *values))


def test_polyethylene_of_a_handbook_as_power_law() -> None:
    """Rao, section 1.3.7.2: K = 135990 exp(-0.00863 T), n = 0.3286; 373.1 Pa s at 200 degC and 500 1/s."""
    consistency, n = 135990 * math.exp(-0.00863 * 200), 0.3286
    longest = 1e6  # s: so far beyond the bend that only the power law is left
    critical = consistency * longest**-n
    got = viscosity(500.0, 473.15, critical * longest, critical, n, 1 - n, 473.15, 0.0, 100.0, 0.0)
    assert float(got) == pytest.approx(373.1, rel=5e-4)


def test_abs_of_a_book_at_a_high_rate() -> None:
    """Kazmer, section 5.5.1: 120 Pa s at 239 degC and 2000 1/s for the ABS of Appendix A (read in a public copy)."""
    got = viscosity(2000.0, 239 + KELVIN, 1.93e13, 9.97e4, 0.247, 0.753, 373.15, 31.4 / math.log(10), 51.6, 0.0)
    # Two or three digits printed; the 3.7 % that A1 leaves in the viscosity at rest shrink to a quarter of it here.
    assert float(got) == pytest.approx(120, rel=0.02)


def test_universal_constants_move_to_fifty_kelvin_above_the_glass() -> None:
    """Williams, Landel, Ferry: 17.44 and 51.6 K about the glass are 8.86 and 101.6 K about 50 K above it."""
    about_glass = temperature_shift(np.array([420.0, 440.0]), 350.0, 17.44, 51.6, 0.0)
    about_higher = temperature_shift(np.array([420.0, 440.0]), 400.0, 8.857, 101.6, 0.0)
    assert about_glass[0] / about_glass[1] == pytest.approx(about_higher[0] / about_higher[1], rel=2e-4)
    assert pytest.approx(8.86, abs=0.005) == 17.44 * 51.6 / 101.6


def test_table_holds_what_was_published() -> None:
    """The constants in the notes, moved to the table's temperature, are the table's, to its digits."""
    ln10 = math.log(10)
    for row in read_table("melts").rows.values():
        if row.text("provenance").endswith("fitted here"):
            continue  # test_melt_measured.py fits it again
        note = row.text("note").replace("degC", "")
        published = {k: float(v) for k, v in re.findall(r"\b([A-Za-z]\w*) (-?\d[\d.]*(?:e\d+)?)", note)}
        at = float(row.text("reference_temperature")) + KELVIN
        span, slope, energy = 100.0, 0.0, 0.0  # a span has no effect without a slope
        if row.text("kind") == "Cross and WLF":
            above = at - published["D2"]
            span = published["A2"] + above
            slope = published["A1"] / ln10 * published["A2"] / span
            eta = published["D1"] * math.exp(-published["A1"] * above / span)
            stress, n, a = published["tau"], published["n"], 1 - published["n"]
        else:
            eta, n, a = published["A"], 1 - published["C"], 1.0
            stress = eta / published["B"]
            if row.text("kind") == "Carreau and WLF":
                span = published["C2"] + at - KELVIN - published["TST"]
                slope = published["C1"] * published["C2"] / span
            else:
                energy = published["E"]
        expected = {"zero_viscosity": eta, "critical_stress": stress / 1e3, "power_index": n, "transition": a,
                    "wlf_slope": slope, "wlf_span": span, "activation_energy": energy}  # fmt: skip
        for column, value in expected.items():
            assert float(row.text(column)) == pytest.approx(value, rel=8e-4), f"{row.name}: {column}"


def test_pla_lies_within_the_published_band() -> None:
    """Acierno and Patti, Table 1: Cross with n 0.29 to 0.37, 1480 to 9460 Pa s, 0.013 to 0.083 s, for printing."""
    for rate in (1.0, 10.0, 100.0, 1000.0):
        thin, thick = (eta / (1 + (t * rate) ** (1 - n)) for eta, t, n in ((1480, 0.013, 0.29), (9460, 0.083, 0.37)))
        assert 0.95 * thin < law(rate, 200) < thick


@given(st.floats(1e-3, 1e5), st.floats(0.1, 0.9), st.floats(0.2, 4), st.floats(1.01, 5))
def test_melt_thins_but_its_stress_rises(rate: float, n: float, a: float, more: float) -> None:
    slow, fast = (law(r, 205, power_index=n, transition=a) for r in (rate, rate * more))
    assert slow >= fast
    assert slow * rate < fast * rate * more


def test_below_the_range_of_the_formula_the_melt_is_stiff_but_finite() -> None:
    for at in (48.4, 40.0, -20.0):
        assert 1e10 < law(1e-6, at) < math.inf
    assert math.isfinite(law(100, -200, wlf_slope=0, activation_energy=80))


def test_arrhenius_alone_has_no_pole() -> None:
    for at in (60.0, 48.4, 30.0):  # 48.4 is where the other formula would end
        expected = math.exp(80e3 / 8.314462618 * (1 / (at + KELVIN) - 1 / 473.15))
        cold = {"wlf_slope": 0.0, "activation_energy": 80.0, "set_temperature": at, "melt_temperature": at}
        assert law(1e-20, at, wlf_slope=0, activation_energy=80) == pytest.approx(5441 * expected, rel=1e-9)
        assert shown("shift_factor", **cold)[0] == pytest.approx(expected, rel=1e-9)
        assert not [w for w in solve(**cold).warnings if "WLF span" in str(w)]


# --- one capillary --------------------------------------------------------------------------------


def stress_by_profile(apparent: float, flow_law: Any) -> float:
    """Wall stress from the profile itself: the stress rises evenly to the wall, each radius flows at its own rate."""

    def rate_at(stress: float) -> float:
        return math.exp(brentq(lambda y: math.log(flow_law(math.exp(y)) * math.exp(y) / stress), -200, 200, xtol=1e-12))

    def too_much(logarithm: float) -> float:
        wall = math.exp(logarithm)
        # flow over pi R^3: integral of (r/R)^2 rate over r/R
        flow = quad(lambda x: x**2 * rate_at(wall * x), 1e-9, 1, epsrel=1e-8)[0]
        return math.log(4 * flow / apparent)

    return math.exp(brentq(too_much, math.log(1.0), math.log(1e8), xtol=1e-9))


LAWS = {"Cross": (0.25, 0.75), "Carreau": (0.38, 2.0), "a = 1": (0.38, 1.0), "Newton": (1.0, 1.0), "steep": (0.1, 0.9)}


@pytest.mark.parametrize(("n", "a"), LAWS.values(), ids=LAWS)
@pytest.mark.parametrize("apparent", [0.3, 20.0, 130.0, 5e3])
def test_wall_against_the_profile(n: float, a: float, apparent: float) -> None:
    found = wall_state(apparent, 0.8, 1e12, 5441.0, 1.009e5, n, a)
    expected = stress_by_profile(
        apparent, lambda g: float(viscosity(g, 400, 0.8 * 5441.0, 1.009e5, n, a, 400, 0, 1, 0))
    )
    assert float(found.stress) == pytest.approx(expected, rel=2e-5)
    step = 1e-4
    more, less = (wall_state(apparent * f, 0.8, 1e12, 5441.0, 1.009e5, n, a).stress for f in (1 + step, 1 - step))
    assert float(found.exponent) == pytest.approx(math.log(more / less) / math.log((1 + step) / (1 - step)), rel=1e-3)


@examples(60)
@given(st.floats(0.05, 1), st.floats(0.1, 5), st.floats(-6, 8))
@example(0.15, 3.0, 1.45)  # a sharp bend, where the rate is well beyond it
def test_wall_turns_round_the_integral(n: float, a: float, exponent: float) -> None:
    apparent = 10**exponent
    wall = float(wall_state(apparent, 1.0, 1e99, 1.0, 1.0, n, a).rate)

    def stress(rate: float) -> float:
        return rate * (1 + rate**a) ** ((n - 1) / a)

    cubes = quad(lambda y: (stress(math.exp(y)) / stress(wall)) ** 3 * math.exp(y), math.log(wall) - 60,
                 math.log(wall), limit=300, epsrel=1e-9)[0]  # fmt: skip
    assert 4 / 3 * (wall - cubes) == pytest.approx(apparent, rel=2e-5)


@pytest.mark.parametrize("a", [0.1, 0.4, 1.0, 3.0, 5.0])
@pytest.mark.parametrize("n", [0.05, 0.15, 0.4, 1.0])
def test_wall_against_the_closed_form(n: float, a: float) -> None:
    """The integral is a hypergeometric function: its series in mpmath, over all bends that may be given."""
    exponents = np.linspace(-3, 7, 41)
    found = wall_state(10**exponents, 1.0, 1e99, 1.0, 1.0, n, a).rate
    with mpmath.workdps(80):  # of 1 - share only the difference counts
        for apparent, rate in zip(10**exponents, map(mpmath.mpf, found.tolist()), strict=True):
            share = rate ** mpmath.mpf(a) / (1 + rate ** mpmath.mpf(a))
            cubes = mpmath.hyp2f1(mpmath.mpf(3 * (1 - n)) / a, 1, mpmath.mpf(4) / a + 1, share) / 4
            assert float(4 * rate * (1 - cubes) / 3) == pytest.approx(apparent, rel=2e-6)


def test_power_law_is_the_limit() -> None:
    """Far beyond the bend the wall has (3n+1)/(4n) of the apparent rate, and the local exponent is n."""
    for n in (0.2, 0.3, 0.6):
        found = wall_state(1e9, 1.0, 1e99, 1.0, 1.0, n, 2.0)
        assert float(found.rate) == pytest.approx(1e9 * (3 * n + 1) / (4 * n), rel=1e-5)
        assert float(found.exponent) == pytest.approx(n, rel=1e-5)


@pytest.mark.outside("melt.newton_pressure", by="fluids, laminar friction factor")
@pytest.mark.parametrize(("diameter", "length"), [(0.4, 0.8), (0.6, 1.5), (1.0, 20.0)])
def test_hagen_poiseuille(diameter: float, length: float) -> None:
    speed = 2.7e-9 / (math.pi / 4 * (diameter * 1e-3) ** 2)
    reynolds = 1130 * speed * diameter * 1e-3 / 100.0
    factor = friction_factor(Re=reynolds)
    expected = factor * length / diameter * 1130 * speed**2 / 2
    got, land = shown("newton_pressure land_pressure", hot_viscosity=100.0, nozzle_diameter=diameter,
                      land_length=length, zero_viscosity=100.0, power_index=1.0, wlf_slope=0.0)  # fmt: skip
    assert got * 1e6 == pytest.approx(expected, rel=1e-9)
    assert land * 1e6 == pytest.approx(expected, rel=1e-6)


# --- the nozzle -----------------------------------------------------------------------------------

CASES: dict[str, dict[str, float]] = {
    "as it is": {},
    "narrow and fast": {"nozzle_diameter": 0.4, "melt_flow": 8.0, "shear_limit": 1.0},
    "slow": {"melt_flow": 0.05},
    "blunt": {"cone_half_angle": 59.0},
    "polyethylene": {"zero_viscosity": 32400.0, "critical_stress": 10.45, "power_index": 0.38, "transition": 1.0,
                     "reference_temperature": 190.0, "wlf_slope": 2.12, "wlf_span": 424.6},
    "Arrhenius, cold bore": {"wlf_slope": 0.0, "activation_energy": 90.0, "melt_temperature": 160.0,
                             "melt_bore_length": 4.0},
}  # fmt: skip


@pytest.mark.slow
@pytest.mark.outside("melt.nozzle", by="profiles, slices and root finding by SciPy")
@pytest.mark.parametrize("changes", CASES.values(), ids=CASES)
def test_nozzle_against_slices_solved_one_by_one(changes: dict[str, float]) -> None:
    n = model(**changes)
    found = nozzle_drop(*n)
    hot = n.set_temperature - (n.set_temperature - n.melt_temperature) * math.exp(-n.bore_transfer)
    parameters = n[-8:]

    def stress(radius: float, at: float) -> float:
        apparent = 4 * n.flow / (math.pi * radius**3)
        return stress_by_profile(apparent, lambda g: float(viscosity(g, at, *parameters)))

    end, wide = n.nozzle_diameter / 2, n.bore_diameter / 2
    land = stress(end, hot)
    assert found.stress == pytest.approx(land, rel=2e-5)
    assert found.land == pytest.approx(2 * land * n.land_length / end, rel=2e-5)
    assert found.entrance == pytest.approx(4 * land * n.end_correction, rel=2e-5)

    def cone_slope(place: float) -> float:
        radius = end + place * math.tan(n.cone_half_angle)
        return 2 * stress(radius, hot) / radius

    length = (wide - end) / math.tan(n.cone_half_angle)
    node, weight = np.polynomial.legendre.leggauss(14)
    points = length * ((node + 1) / 2) ** 2  # closer together at the narrow end
    widths = length * (node + 1) / 2 * weight
    assert found.cone == pytest.approx(sum(w * cone_slope(p) for p, w in zip(points, widths, strict=True)), rel=2e-4)

    def bore_slope(share: float) -> float:
        at = n.set_temperature - (n.set_temperature - n.melt_temperature) * math.exp(-n.bore_transfer * share)
        return 2 * stress(wide, at) / wide * n.bore_length

    shares = (np.polynomial.legendre.leggauss(12)[0] + 1) / 2
    by_hand = sum(w / 2 * bore_slope(s) for s, w in zip(shares, np.polynomial.legendre.leggauss(12)[1], strict=True))
    assert found.bore == pytest.approx(by_hand, rel=1e-3)
    assert found.pressure == pytest.approx(found.land + found.entrance + found.cone + found.bore, rel=1e-12)
    assert viscosity(found.rate, hot, *parameters) * found.rate == pytest.approx(found.stress, rel=1e-9)
    step = 1e-4
    up, down = (nozzle_drop(*n._replace(flow=n.flow * f)).pressure for f in (1 + step, 1 - step))
    assert found.exponent == pytest.approx(math.log(up / down) / math.log((1 + step) / (1 - step)), rel=1e-3)


def test_cone_of_constant_viscosity_has_a_closed_form() -> None:
    (cone,) = shown("cone_pressure", power_index=1.0, transition=1.0, wlf_slope=0.0, shear_limit=1.0)
    closed = 8 * 5441 * 2.7e-9 / (3 * math.pi * math.tan(math.pi / 6)) * (0.3e-3**-3 - 1.5e-3**-3)
    assert cone * 1e6 == pytest.approx(closed, rel=1e-4)


def test_slices_of_a_cone_exceed_the_exact_creeping_flow_by_what_the_chapter_states() -> None:
    """Happel and Brenner (from memory): p = 2 C P2(cos) / r^3, C = eta Q / (pi (1-c)^2 (1+2c)), c of the half angle.

    Averaged over the cap, the exact flow of a melt that does not thin needs less than the slices.
    """
    for degrees, share in ((5, 1.00), (15, 1.03), (30, 1.12), (45, 1.29)):
        half = math.radians(degrees)
        c = math.cos(half)
        mean = quad(lambda x: 3 * x**2 - 1, c, 1)[0] / (1 - c)
        exact = mean * math.sin(half) ** 3 / (math.pi * (1 - c) ** 2 * (1 + 2 * c))
        here = {"power_index": 1.0, "transition": 1.0, "wlf_slope": 0.0, "shear_limit": 1.0, "zero_viscosity": 100.0}
        slices = shown("cone_pressure", cone_half_angle=float(degrees), **here)[0] * 1e6
        exact *= 100 * 2.7e-9 * (0.3e-3**-3 - 1.5e-3**-3)
        assert slices / exact == pytest.approx(share, abs=0.006)


def test_pressure_along_the_nozzle_adds_up() -> None:
    for changes in CASES.values():
        n = model(**changes)
        place, radius, pressure = pressure_along(n, 200)
        assert pressure[0] == 0 and pressure[-1] == pytest.approx(nozzle_drop(*n).pressure, rel=2e-3)
        assert all(b >= a for a, b in pairwise(pressure)) and all(b >= a for a, b in pairwise(place))
        assert radius[0] == pytest.approx(n.nozzle_diameter / 2) and radius[-1] == pytest.approx(n.bore_diameter / 2)


@examples(40)
@given(st.floats(0.05, 20), st.floats(1.02, 4), st.floats(150, 240), st.floats(0.3, 1.5))
def test_what_raises_the_pressure(flow: float, more: float, at: float, diameter: float) -> None:
    here = {"melt_flow": flow, "melt_temperature": at, "set_temperature": at, "nozzle_diameter": diameter,
            "shear_limit": 1e3}  # fmt: skip

    def pressure(**changes: float) -> float:
        return shown("nozzle_pressure", **(here | changes))[0]

    base = pressure()
    assert base < pressure(melt_flow=flow * more) < base * more
    assert pressure(nozzle_diameter=diameter * more) < base
    assert pressure(melt_temperature=at + 10, set_temperature=at + 10) < base
    assert pressure(land_length=1.5 * more) > base
    (exponent,) = shown("local_exponent", **here)
    assert 0.24 < exponent < 1.0001


def test_stress_stays_at_the_shear_limit() -> None:
    fast = {"melt_flow": 500.0, "nozzle_diameter": 0.2}
    stress, exponent, pressure = shown("wall_stress local_exponent nozzle_pressure", **fast)
    assert stress == 0.5
    assert exponent < 0.2
    assert pressure == pytest.approx(shown("nozzle_pressure", **(fast | {"melt_flow": 600.0}))[0], rel=0.05)


def test_many_builds_at_once_are_the_same_builds() -> None:
    flows = np.geomspace(0.1, 10, 700) * 1e-9
    n = model()
    together = nozzle_drop(*n._replace(flow=flows))
    for place in (0, 255, 256, 699):
        alone = nozzle_drop(*n._replace(flow=flows[place]))
        assert together.pressure[place] == pytest.approx(alone.pressure, rel=1e-12)
    assert np.isnan(nozzle_drop(*n._replace(flow=math.nan)).pressure)


# --- heat in the bore -----------------------------------------------------------------------------


@pytest.mark.outside("melt.bore_transfer", "melt.nozzle_temperature", by="Graetz's problem by finite volumes; ht")
def test_stream_in_a_hot_bore() -> None:
    """Radial finite volumes with a parabolic stream: the slowest mode is what the chapter takes for all of it."""
    cells = 2000
    edge = np.linspace(0, 1, cells + 1)
    middle = (edge[1:] + edge[:-1]) / 2
    apart = np.append(np.diff(middle), 1 - middle[-1])
    links = edge[1:] / apart
    mass = 2 * (1 - middle**2) * middle * np.diff(edge)  # speed over mean speed, times the ring
    diagonal = links + np.append(0.0, links[:-1])
    scaled = diagonal / mass, -links[:-1] / np.sqrt(mass[1:] * mass[:-1])
    slowest = eigh_tridiagonal(*scaled, select="i", select_range=(0, 0))[0][0]
    # Along the bore the mode falls with slowest * k pi L / (rho c Q): the Nusselt number is this eigenvalue.
    transfer, temperature = shown("bore_transfer nozzle_temperature")
    assert transfer == pytest.approx(slowest * math.pi * 0.2 * 0.010 / 0.006, rel=1e-4)
    assert transfer / (math.pi * 0.2 * 0.010 / 0.006) == pytest.approx(laminar_T_const(), rel=2e-3)
    heated = solve_ivp(lambda x, t: slowest * math.pi * 0.2 / 0.006 * (205 - t), (0, 0.010), [183.0], rtol=1e-10)
    assert temperature == pytest.approx(heated.y[0, -1], abs=1e-3)


@pytest.mark.outside("melt.gas_constant", by="the exact values of Boltzmann and Avogadro in the SI")
def test_gas_constant() -> None:
    assert shown("gas_constant")[0] == pytest.approx(Boltzmann * Avogadro, rel=1e-9)


# --- sums and volumes -----------------------------------------------------------------------------


@pytest.mark.outside(
    "melt.shear_heating", "melt.melt_diffusivity", "melt.melting_reserve", by="by hand, units carried by pint"
)
def test_sums_by_hand() -> None:
    warm, diffusivity, reserve = shown("shear_heating melt_diffusivity melting_reserve", nozzle_pressure=3.0,
                                       fusing_time=12.0)  # fmt: skip
    heat = ureg("1.13 g/cm**3") * ureg("1900 J/kg/K")
    assert warm == pytest.approx((ureg("3 MPa") / heat).to("K").magnitude)
    thermal = ureg("0.2 W/m/K") / (ureg("1.24 g/cm**3") * ureg("1900 J/kg/K"))
    assert diffusivity == pytest.approx(thermal.to("mm**2/s").magnitude)
    assert reserve == pytest.approx(300 / 12)


@pytest.mark.outside("melt.melt_volume", by="a body of revolution by SciPy's quadrature")
def test_melt_volume() -> None:
    cone = 1.2 / math.tan(math.pi / 6)

    def radius(z: float) -> float:
        return 0.3 if z < 1.5 else min(1.5, 0.3 + (z - 1.5) * math.tan(math.pi / 6))

    ends = (1.5, 1.5 + cone)
    turned = quad(lambda z: math.pi * radius(z) ** 2, 0, 1.5 + cone + 10, points=ends, limit=200)[0]
    assert shown("melt_volume")[0] == pytest.approx(33 * 14 + turned, rel=1e-8)


# --- melting --------------------------------------------------------------------------------------


def rings(inner: float, outer: float, cells: int, power: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Edges' areas over distances, and volumes, of a cylinder's (power 1) or a ball's (power 2) shells."""
    edge = np.linspace(inner, outer, cells + 1)
    middle = (edge[1:] + edge[:-1]) / 2
    apart = np.append(np.diff(middle), outer - middle[-1])
    return edge[1:] ** power / apart, np.diff(edge ** (power + 1)) / (power + 1), middle


def falling(link: np.ndarray, volume: np.ndarray, alpha: float, inner: float = 0.0) -> csc_array:
    """The derivative of all slopes by all temperatures, which spares SciPy finding it by trying."""
    before = np.append(inner, link[:-1])
    below, here, above = before[1:] / volume[1:], -(link + before) / volume, link[:-1] / volume[:-1]
    return alpha * diags_array([below, here, above], offsets=[-1, 0, 1], format="csc")


@pytest.mark.outside("melt.fusing_time", by="the heat equation in a ring, SciPy")
@pytest.mark.parametrize(("core", "bore"), [(2.35, 8.0), (1.73, 5.0), (1.0, 8.0)])
def test_screw_side_lags_behind_the_wall(core: float, bore: float) -> None:
    lag, alpha = shown("fusing_time melt_diffusivity", screw_radius=core, bore_diameter=bore)
    link, volume, _ = rings(core, bore / 2, 120, 1)
    ramp = 2.0  # K/s, any will do

    def slope(t: float, temperature: np.ndarray) -> np.ndarray:
        beyond = np.append(temperature[1:], ramp * t)
        flow = alpha * link * (beyond - temperature)
        return (flow - np.append(0.0, flow[:-1])) / volume

    end = 8 * lag
    found = solve_ivp(slope, (0, end), np.zeros(120), method="BDF", rtol=1e-8, atol=1e-8,
                      jac=falling(link, volume, alpha))  # fmt: skip
    assert found.success
    assert lag == pytest.approx(end - found.y[0, -1] / ramp, rel=3e-3)
    half = shown("fusing_time", screw_radius=core, bore_diameter=bore, fusing_factor=0.5)[0]
    assert half == pytest.approx(lag / 2)


def test_a_screw_as_hot_as_the_wall_brings_a_thin_ring_to_a_quarter() -> None:
    """What the factor's range rests on: both sides warmed alike, the middle lags by a quarter of the one-sided lag."""
    alpha = shown("melt_diffusivity")[0]
    link, volume, _ = rings(100.0, 101.0, 100, 1)
    inner = 100.0 / (0.5 * 0.01)

    def slope(t: float, temperature: np.ndarray) -> np.ndarray:
        flow = alpha * link * (np.append(temperature[1:], 2 * t) - temperature)
        return (flow - np.append(alpha * inner * (temperature[0] - 2 * t), flow[:-1])) / volume

    one_sided = 1 / (2 * alpha)
    end = 4 * one_sided
    found = solve_ivp(slope, (0, end), np.zeros(100), method="BDF", rtol=1e-8, atol=1e-8,
                      jac=falling(link, volume, alpha, inner))  # fmt: skip
    assert (end - found.y[:, -1].min() / 2) / one_sided == pytest.approx(0.25, abs=0.003)


@pytest.mark.outside("melt.grain_melt_time", by="the heat equation in a ball, SciPy")
@pytest.mark.parametrize(("softens", "size"), [(60.0, 2.0), (105.0, 1.25), (180.0, 4.0)])
def test_ball_in_a_hot_bath(softens: float, size: float) -> None:
    wanted, alpha = shown("grain_melt_time melt_diffusivity", softening_temperature=softens, sieve_mesh=size)
    link, volume, _ = rings(0.0, size / 2, 200, 2)

    def slope(t: float, temperature: np.ndarray) -> np.ndarray:
        flow = alpha * link * (np.append(temperature[1:], 205.0) - temperature)
        return (flow - np.append(0.0, flow[:-1])) / volume

    found = solve_ivp(slope, (0, 3 * wanted), np.full(200, 27.0), method="BDF", rtol=1e-8, atol=1e-8,
                      jac=falling(link, volume, alpha), dense_output=True)  # fmt: skip
    assert wanted == pytest.approx(brentq(lambda t: found.sol(t)[0] - softens, 0.05 * wanted, 3 * wanted), rel=2e-3)


def test_middle_of_a_ball() -> None:
    left = np.array([0.999, 0.9, 0.5, 0.1, 1e-6])
    assert core_excess(core_fourier(left)) == pytest.approx(left, rel=1e-5)
    assert core_fourier(np.array([1.5, 0.0, -1.0])).tolist() == [0.0, math.inf, math.inf]
    assert np.isnan(core_fourier(math.nan))


# --- bad input, margins, pictures -----------------------------------------------------------------

BAD = {
    "colder than the formula reaches": (
        {"set_temperature": 45.0, "melt_temperature": 45.0}, "less the WLF span"),
    "flow that tears": ({"melt_flow": 500.0, "nozzle_diameter": 0.2}, "shear limit"),
    "blunt cone": ({"cone_half_angle": 60.0}, "above 45°"),
}  # fmt: skip


@pytest.mark.parametrize(("changes", "words"), BAD.values(), ids=BAD)
def test_bad_input_is_told_in_words_and_computed_all_the_same(changes: dict[str, float], words: str) -> None:
    solution = solve(**changes)
    told = [str(w) for w in solution.warnings if w.node.id.startswith("melt.")]
    assert any(words in sentence for sentence in told), told
    undefined = [q.key for q in SUBJECT.quantities if math.isnan(solution.values.get(q, 0.0))]
    assert not undefined


def test_sound_build_warns_of_nothing() -> None:
    assert not [str(w) for w in solve().warnings if w.node.id.startswith("melt.")]


def test_a_nozzle_as_wide_as_its_bore_clashes() -> None:
    quantities = whole_head().quantities
    values = {quantities[k]: quantities[k].si(v) for k, v in (BUILD | {"melt_bore_diameter": 0.5}).items()}
    told = [sentence for sentence in whole_head().clashes(values) if "nozzle diameter" in sentence]
    assert told == ["nozzle diameter 0.600 mm must be smaller than melt bore diameter 0.500 mm: "
                    "a cone narrows towards the land"]  # fmt: skip
    assert math.isfinite(shown("nozzle_pressure", melt_bore_diameter=0.5)[0])


@pytest.mark.parametrize("build", ["otter", "wren"])
def test_shipped_builds_are_plausible_and_drawn(build: str) -> None:
    solution, quantities = shipped_build(build).solution, whole_head().quantities
    assert 2 < quantities["nozzle_pressure"].shown(solution[quantities["nozzle_pressure"]]) < 6
    assert 0.25 < solution[quantities["local_exponent"]] < 0.7
    assert [q for q in VISCOSITY_INPUTS if q not in solution.given] == []
    for picture in pictures_of("melt"):
        assert not picture.missing(solution)
        assert picture.scene(solution).svg().startswith("<svg")
    assert MeltGraphs(solution)(solution).svg().startswith("<svg")


def test_picture_says_when_there_is_nothing_to_draw() -> None:
    solution = solve(melt_flow=math.nan)
    assert "No pressure" in pictures_of("melt")[0].scene(solution).alt


def test_figures_that_the_chapter_states_in_words() -> None:
    """The prose of the chapter speaks of the shipped builds: whoever changes them reads the chapter again."""
    for build in ("otter", "wren"):
        known = {q.key: v for q, v in shipped_build(build).solution.values.items()}
        assert 0.1e6 < known["wall_stress"] < 0.2e6
        assert known["local_exponent"] == pytest.approx({"otter": 0.7, "wren": 0.4}[build], abs=0.05)
        assert 2 ** known["local_exponent"] - 1 == pytest.approx({"otter": 0.6, "wren": 0.33}[build], abs=0.02)
        assert known["melting_reserve"] > 10
        assert 1 < known["shear_heating"] < 2.5
        assert known["power_pressure"] > known["land_pressure"]
        assert known["set_temperature"] - known["nozzle_temperature"] < 1
    otter = shipped_build("otter").solution
    known = {q.key: v for q, v in otter.values.items()}
    assert known["land_pressure"] + known["entrance_pressure"] > 0.9 * known["nozzle_pressure"]
    assert known["grain_melt_time"] == pytest.approx(1, abs=0.1)
    assert 0.3 < known["fusing_factor"] < 1
    n = Nozzle(*(otter[q] for q in NOZZLE_INPUTS))

    def hotter(kelvin: float) -> Nozzle:
        return n._replace(set_temperature=n.set_temperature + kelvin, melt_temperature=n.melt_temperature + kelvin)

    assert n.shift_at(n.bore_temperature(1.0) + 20) / n.shift_at(n.bore_temperature(1.0) - 20) == pytest.approx(
        0.26, abs=0.01
    )
    assert nozzle_drop(*hotter(20)).pressure / nozzle_drop(*hotter(-20)).pressure < 0.5
    more = brentq(
        lambda f: nozzle_drop(*hotter(10)._replace(flow=f * n.flow)).pressure - known["nozzle_pressure"], 1, 3
    )
    assert more == pytest.approx(1.37, abs=0.03)  # more than a third
    wire = math.pi / 4 * 1.75e-3**2
    assert [10 / wire / 1e6, 30 / wire / 1e6] == pytest.approx([4, 12], abs=0.5)
    new = read_table("melts").rows["PLA measured"].si("zero_viscosity")  # as filament is, not as the feed
    usual = n._replace(nozzle_diameter=0.4e-3, land_length=0.8e-3, flow=3e-9, zero_viscosity=new)
    assert nozzle_drop(*usual).pressure / 1e6 == pytest.approx(5.1, abs=0.05)
    wider = nozzle_drop(*n._replace(nozzle_diameter=0.6e-3)).pressure
    narrow, half = (
        nozzle_drop(*n._replace(nozzle_diameter=0.4e-3, land_length=x)).pressure for x in (2.25e-3, 1.125e-3)
    )
    assert wider < half < narrow


@pytest.mark.outside("melt.fed_viscosity", by="a curve moved along the rate, by hand")
def test_what_was_molten_before_flows_like_a_faster_curve() -> None:
    """Half the viscosity at rest: at twice the rate the stress is the same as before, at any rate."""
    (fed,) = shown("fed_viscosity", viscosity_feed=50.0)
    law = [whole_head().quantities[key].si(value) for key, value in PLA.items()]
    assert fed == pytest.approx(0.5 * PLA["zero_viscosity"])
    for rate in (0.1, 10.0, 1000.0):
        before = float(viscosity(rate, KELVIN + 190, *law)) * rate
        after = float(viscosity(2 * rate, KELVIN + 190, fed, *law[1:])) * 2 * rate
        assert after == pytest.approx(before, rel=1e-9)
    new, old = (shown("nozzle_pressure", viscosity_feed=share)[0] for share in (100.0, 50.0))
    assert 0.5 < old / new < 0.9, "less than in proportion, since the melt thins"


@pytest.mark.parametrize("build", ["otter", "wren"])
@pytest.mark.parametrize("plastic", list(read_table("melts").rows))
def test_the_rule_of_thumb_holds_for_every_plastic_of_the_table(build: str, plastic: str) -> None:
    """Nozzles of 0.4 to 1 mm, lands of one to four diameters, wall stresses at which people print.

    From 10 K below to 30 K above the temperature for which the table has the plastic.
    """
    row, own = read_table("melts").row(plastic), Nozzle(*(shipped_build(build).solution[q] for q in NOZZLE_INPUTS))
    law = {q.key: row.si(q.key) for q in VISCOSITY_INPUTS}
    wide, long, flow, warmer = (
        axis.ravel()
        for axis in np.meshgrid(
            np.linspace(0.4e-3, 1e-3, 5), np.linspace(1, 4, 4), np.geomspace(5e-10, 2e-8, 12), np.linspace(-10, 30, 5)
        )
    )
    at = law["reference_temperature"] + warmer
    one = own._replace(
        flow=flow, nozzle_diameter=wide, land_length=long * wide, melt_temperature=at, set_temperature=at, **law
    )
    here = nozzle_drop(*one)
    printed = (here.stress > 0.05e6) & (here.stress < 0.3e6)
    assert printed.sum() > 100
    assert here.pressure[printed].min() > 0.6e6 and here.pressure[printed].max() < 9e6
    assert ((here.land + here.entrance) / here.pressure)[printed].min() > 0.6
    more = (nozzle_drop(*one._replace(flow=2 * flow)).pressure / here.pressure)[printed]
    assert more.min() > 1.2 and more.max() < 1.8
    less = 1 - (nozzle_drop(*one._replace(nozzle_diameter=1.25 * wide)).pressure / here.pressure)[printed]
    assert less.min() > 0.19 and less.max() < 0.52
    gain = one.shift_at(at) / one.shift_at(at + 10)
    hotter = one._replace(flow=gain * flow, melt_temperature=at + 10, set_temperature=at + 10)
    assert nozzle_drop(*hotter).pressure[printed] == pytest.approx(here.pressure[printed], rel=1e-6)
    low, high = (1 / 3, 0.7) if plastic.split()[0] in {"PLA", "ABS", "PS"} else (0.1, 0.3)
    assert low < gain[printed].min() - 1 and gain[printed].max() - 1 < high


@pytest.mark.parametrize("build", ["otter", "wren"])
def test_speed_in_the_land_carries_the_flow(build: str) -> None:
    """The profile that is drawn: mean 1, nothing at the wall, its slope there the wall's rate; a parabola at n = 1."""
    solution = shipped_build(build).solution
    known = {q.key: v for q, v in solution.values.items()}
    place, speed = figures.speed_profile(solution)
    assert 2 * np.trapezoid(speed * place, place) == pytest.approx(1)
    assert speed[-1] == 0 and np.all(np.diff(speed) <= 0)
    mean = known["melt_flow"] / (math.pi * known["nozzle_diameter"] ** 2 / 4)
    slope = (speed[-2] - speed[-1]) / (place[-1] - place[-2]) * mean / (known["nozzle_diameter"] / 2)
    assert slope == pytest.approx(known["wall_rate"], rel=0.03)
    even_place, even = figures.speed_profile(solution, thins=False)
    assert even == pytest.approx(2 * (1 - even_place**2), abs=2e-3)


def test_a_blunt_cone_and_a_cold_block_do_what_the_chapter_says() -> None:
    otter = shipped_build("otter")
    cone, blunt = (whole_head().quantities[key] for key in ("cone_pressure", "cone_half_angle"))
    flattened = otter.with_value(blunt, math.radians(60)).solution
    assert flattened[cone] / otter.solution[cone] == pytest.approx(1 / 3, abs=0.01)
    assert any("the cone is blunt" in str(warning) for warning in flattened.warnings)
    flow, block = (whole_head().quantities[key] for key in ("wanted_flow", "set_temperature"))

    def tears(at_flow: float, colder: float) -> bool:
        head = otter.with_value(flow, flow.si(at_flow)).with_value(block, otter.values[block] - colder)
        return any("has reached the shear limit" in str(warning) for warning in head.solution.warnings)

    assert [tears(25, 0), tears(30, 0), tears(20, 20), tears(25, 20)] == [False, True, False, True]


@pytest.mark.parametrize("build", ["otter", "wren"])
def test_the_figures_name_what_the_build_has(build: str) -> None:
    solution = shipped_build(build).solution
    pressure, rate, fuse = (whole_head().quantities[key] for key in ("land_pressure", "wall_rate", "fusing_time"))
    assert solution.text(pressure) in figures.draw_shares([(build, solution)]).alt
    assert solution.text(rate) in figures.draw_bend(solution).alt
    assert solution.text(fuse) in figures.draw_fusing(solution).alt
    assert "PLLA 250000" in figures.draw_measured().alt
