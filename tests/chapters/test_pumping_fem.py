"""Melt about a screw by finite elements, on the real helix in the round bore, and the side walls of a channel.

Nothing is unwrapped and nothing taken as flat. A screw looks the same when it is turned and shifted along its axis, so
Stokes' equations are solved in one plane through the axis, for all three velocities: a derivative round the axis is
one along it times minus the pitch over a turn. Turned over about a radius through the middle of crest or floor, the
screw is the same again, so half a pitch does: there the radial velocity is nothing, and so is the pressure beside its
slope.

``data/tables/wide_gap_fem.csv`` holds the outcome for the screws it lists; here it is computed again. To change the
table, run ``python -m tests.chapters.test_pumping_fem``, which prints its lines. With ``factors`` behind it, it prints
``data/tables/helix_factors.csv``, which the library interpolates; that takes some minutes.
"""

import itertools
import math
import sys
from typing import Any

import numpy as np
import pytest
from augerbook.chapters import whole_head
from augerbook.chapters.pumping.helix import AXES, FACTORS, REACH
from augerbook.chapters.pumping.models import Screw, screw_in_bore, shape_factors
from augerbook.core.network import Solution
from augerbook.tables import Row, read_table
from scipy.sparse import bmat
from skfem import Basis, BilinearForm, ElementQuad1, ElementQuad2, ElementVector, LinearForm, MeshQuad, condense, solve
from skfem.helpers import dot, grad

from tests.chapters.solving import changed

GIVEN = ("bore_diameter", "major_diameter", "core_diameter", "pitch", "flank_half_angle", "crest_width")
RESULTS = ("drag_volume", "back_conductance", "wall_drag")
TABLE = read_table("wide_gap_fem")
SCREWS = list(TABLE.rows.values())


def solved(row: Row) -> Solution:
    """Solve the head's network for the screw of a row, centred."""
    quantities = whole_head().quantities
    values = {quantities[key]: row.si(key) for key in GIVEN}
    return whole_head().solve(
        {**values, quantities["eccentricity"]: 0.0}, {whole_head().choices["screw_offset"]: "leaning"}
    )


def flat_film(row: Row) -> Screw:
    """What the quick formulas give for the centred screw of a row, SI."""
    inputs = [solved(row)[q] for q in whole_head().nodes["pumping.screw_in_bore"].inputs]
    found: Screw = screw_in_bore(*inputs, flat=True)
    return found


class Shape:
    """A screw of the table of factors: sizes over the radius of the bore, as a row that has all its lengths.

    Flanks that would meet above the core do so: the flight is no deeper than that.
    """

    radius, crest = 0.01, 0.06

    def __init__(self, tip: float, depth: float, pitch: float, angle: float) -> None:
        meets = pitch * (1 - self.crest) / (2 * math.tan(math.radians(angle)))
        core = 1 - tip - min(depth, 0.999 * meets)
        self._values = {
            "bore_diameter": 2 * self.radius, "major_diameter": 2 * self.radius * (1 - tip),
            "core_diameter": 2 * self.radius * core, "pitch": self.radius * pitch,
            "flank_half_angle": math.radians(angle), "crest_width": self.radius * pitch * self.crest,
        }  # fmt: skip

    def si(self, key: str) -> float:
        return self._values[key]


def factors(shape: Any) -> list[float]:
    """What finite elements give over the quick formulas: drag, back flow, torque."""
    exact, quick = by_elements(shape), flat_film(shape)
    by_formula = (1e9 * quick.drag_leaning, 1e12 * quick.back_conductance, 1e6 * quick.wall_leaning)
    return [float(exact[key] / value) for key, value in zip(RESULTS, by_formula, strict=True)]


def of(solution: Solution, key: str) -> float:
    return solution[whole_head().quantities[key]]


@BilinearForm
def laplace(u, v, _):  # type: ignore[no-untyped-def]
    return dot(grad(u), grad(v))


@LinearForm
def along(v, _):  # type: ignore[no-untyped-def]
    return v


def half_period(tip: float, core: float, crest: float, root: float, period: float, fine: int) -> MeshQuad:
    """Mesh the gap from the middle of the crest to the middle of the floor; the wall is at y = 0."""
    corners = np.array([0.0, crest / 2, root / 2, period / 2])
    pieces = [np.linspace(a, b, n * fine + 1) for a, b, n in zip(corners, corners[1:], (3, 8, 9), strict=False)]
    plain = MeshQuad.init_tensor(np.unique(np.concatenate(pieces).round(12)), np.linspace(0, 1, 9 * fine + 1))
    gap = np.interp(plain.p[0], corners, [tip, tip, core, core])
    mesh = MeshQuad(np.array([plain.p[0], plain.p[1] * gap]), plain.t)
    facets = mesh.boundary_facets()
    sides = {"wall": plain.p[1] < 1e-9, "screw": plain.p[1] > 1 - 1e-9,
             "ends": (plain.p[0] < 1e-9) | (plain.p[0] > period / 2 - 1e-9)}  # fmt: skip
    level = np.ptp(plain.p[0, mesh.facets[:, facets]], axis=0) > 1e-9
    return mesh.with_boundaries(
        {name: facets[on[mesh.facets[:, facets]].all(0) & (level == (name != "ends"))] for name, on in sides.items()}
    )


def by_elements(row: Row, fine: int = 2) -> dict[str, float]:
    """V_d (mm**3), G_p (mm**4) and J (mm**2) of a centred screw by finite elements; nothing is unwrapped.

    And how wall and screw share the forces along the axis: ``wall_share`` of the pressure, and ``axial_drag`` (1/mm),
    the pull that goes with a torque.
    """
    solution = solved(row)
    keys = ("tip_gap", "core_gap", "crest_width", "root_width", "pitch", "bore_diameter")
    tip, core, crest, root, pitch, bore = (1e3 * of(solution, key) for key in keys)
    wall, per_turn = bore / 2, pitch / (2 * np.pi)
    mesh = half_period(tip, core, crest, root, pitch, fine)
    velocity = Basis(mesh, ElementVector(ElementQuad2(), 3), intorder=5)
    pressure = velocity.with_element(ElementQuad1())

    def strains(u: Any, w: Any) -> tuple[Any, ...]:
        """Rates of strain in round coordinates; the mesh counts along the axis, and from the wall inwards."""
        slope, radius = grad(u), wall - w.x[1]
        along, outward = slope[:, 0], -slope[:, 1]
        turning = -per_turn * along
        return (
            outward[0], (turning[1] + u[0]) / radius, along[2],
            (outward[1] - u[1] / radius + turning[0] / radius) / 2, (along[1] + turning[2] / radius) / 2,
            (along[0] + outward[2]) / 2,
        )  # fmt: skip

    @BilinearForm
    def stokes(u, v, w):  # type: ignore[no-untyped-def]
        weights = (1, 1, 1, 2, 2, 2)
        work = sum(n * a * b for n, a, b in zip(weights, strains(u, w), strains(v, w), strict=True))
        return 2 * work * (wall - w.x[1])

    @BilinearForm
    def incompressible(u, q, w):  # type: ignore[no-untyped-def]
        return -sum(strains(u, w)[:3]) * q * (wall - w.x[1])

    @LinearForm
    def ahead(v, w):  # type: ignore[no-untyped-def]
        return v[2] * (wall - w.x[1])

    viscous, coupling = stokes.assemble(velocity), incompressible.assemble(velocity, pressure)
    whole, push = bmat([[viscous, coupling.T], [coupling, None]], "csr"), ahead.assemble(velocity)
    rest = [velocity.get_dofs(["wall", "screw"]).all(), velocity.get_dofs("ends").all("u^1")]
    fixed = np.unique(np.concatenate(rest))
    turned = np.zeros(velocity.N + pressure.N)
    turned[velocity.get_dofs("wall").all("u^2")] = wall
    pressing = np.concatenate([push, pressure.zeros()])
    by_turning, by_pressing = solve(*condense(whole, x=turned, D=fixed)), solve(*condense(whole, pressing, D=fixed))
    carried, pushed = by_turning[: velocity.N], by_pressing[: velocity.N]
    # What holds the fixed surfaces where they are.
    held, kept = (whole @ by_turning)[: velocity.N], (whole @ by_pressing - pressing)[: velocity.N]
    round_axis = velocity.get_dofs("wall").all("u^2")
    on_wall, on_screw = (velocity.get_dofs(side).all("u^3") for side in ("wall", "screw"))
    # Sums over half a pitch and one radian, at one radian a second. The work of the wall is its torque.
    whole_ring = 2 * np.pi / (pitch / 2)
    return {
        "drag_volume": 2 * np.pi * whole_ring * float(push @ carried),
        "back_conductance": whole_ring * float(push @ pushed),
        "wall_drag": whole_ring * float(carried @ viscous @ carried),
        "wall_share": float(kept[on_wall].sum() / (kept[on_wall].sum() + kept[on_screw].sum())),
        "axial_drag": float(held[on_screw].sum() / (held[round_axis].sum() * wall)),
    }


@pytest.mark.slow
@pytest.mark.parametrize("row", SCREWS, ids=lambda row: row.name)
def test_the_table_holds_what_finite_elements_give(row: Row) -> None:
    found = by_elements(row)
    for key in RESULTS:
        assert float(row.text(key)) == pytest.approx(found[key], rel=1e-3), key


@pytest.mark.slow
def test_twice_as_many_elements_change_little() -> None:
    row = TABLE.row("otter")
    coarse, fine = by_elements(row), by_elements(row, fine=3)
    for key in RESULTS:
        assert coarse[key] == pytest.approx(fine[key], rel=0.004), key


@pytest.mark.outside("pumping.screw_in_bore", by="scikit-fem, Stokes flow on the helix")
def test_lubrication_is_right_for_gentle_flanks() -> None:
    """Flanks that rise by two degrees, in a bore that is wide beside its gap: there the quick formula must be right."""
    row = TABLE.row("stretched")
    ours = flat_film(row)
    exact = [float(row.text(key)) for key in RESULTS]
    found = (1e9 * ours.drag_leaning, 1e12 * ours.back_conductance, 1e6 * ours.wall_leaning)
    assert found == pytest.approx(exact, rel=0.005)


@pytest.mark.parametrize("row", SCREWS, ids=lambda row: row.name)
def test_lubrication_errs_to_the_low_side(row: Row) -> None:
    """What the chapter says of real screws: stiffness and torque come out low, the stiffness by half at the worst."""
    ours = flat_film(row)
    stiffness = row.si("drag_volume") / row.si("back_conductance")
    assert 0.99 < stiffness / (ours.drag_leaning / ours.back_conductance) < 2.1
    assert 0.99 < row.si("wall_drag") / ours.wall_leaning < 1.5


def test_screws_keep_their_order() -> None:
    real = [row for row in SCREWS if row.name != "stretched"]
    quick = [flat_film(row).drag_leaning / flat_film(row).back_conductance for row in real]
    exact = [row.si("drag_volume") / row.si("back_conductance") for row in real]
    assert list(np.argsort(quick)) == list(np.argsort(exact))


#: What interpolating between the screws of the table costs; the chapter states it.
INTERPOLATED = {"drag_volume": 0.07, "back_conductance": 0.02, "wall_drag": 0.02}


@pytest.mark.slow
@pytest.mark.outside("pumping.screw_in_bore", by="scikit-fem, Stokes flow on the helix: forces along the axis")
@pytest.mark.parametrize("row", SCREWS, ids=lambda row: row.name)
def test_wall_and_screw_share_the_forces_along_the_axis(row: Row) -> None:
    """The wall's share of the pressure is met within 0.04, the screw's pull to a factor of two: it is a few newtons."""
    exact, ours = by_elements(row), solved(row)
    assert of(ours, "wall_share") == pytest.approx(exact["wall_share"], abs=0.04)
    assert 0.5 < 1e-3 * of(ours, "axial_drag") / exact["axial_drag"] < 2


@pytest.mark.outside("pumping.pump_stiffness", by="scikit-fem, Stokes flow on the helix")
@pytest.mark.parametrize("row", [row for row in SCREWS if row.name != "stretched"], ids=lambda row: row.name)
def test_the_library_gives_what_finite_elements_give(row: Row) -> None:
    """Real screws, none of them in the table that is interpolated."""
    ours = solved(row)
    for key in RESULTS:
        assert of(ours, key) == pytest.approx(row.si(key), rel=INTERPOLATED[key]), key
    stiffness = row.si("drag_volume") / row.si("back_conductance") / (2 * np.pi)
    assert of(ours, "pump_stiffness") == pytest.approx(stiffness, rel=0.08)


@pytest.mark.slow
@pytest.mark.parametrize("place", [3, 170, 351, 530])
def test_the_table_of_factors_holds_what_finite_elements_give(place: int) -> None:
    row = list(read_table("helix_factors").rows.values())[place]
    shape = Shape(*(float(row.text(axis)) for axis in AXES))
    assert [float(row.text(key)) for key in FACTORS] == pytest.approx(factors(shape), rel=2e-3)


@pytest.mark.outside("pumping.shape_factors", by="scikit-fem, ElementQuad2")
@pytest.mark.parametrize("slender", [0.5, 1.0, 2.0, 6.0])
def test_side_walls(slender: float) -> None:
    def rectangle(lines: int) -> tuple[float, float]:
        toward_walls = (1 - np.cos(np.linspace(0, np.pi, lines))) / 2
        mesh = MeshQuad.init_tensor(slender * toward_walls, toward_walls)
        basis = Basis(mesh, ElementQuad2())
        matrix, load = laplace.assemble(basis), along.assemble(basis)
        edge = basis.get_dofs().all()
        lid = basis.zeros()
        lid[basis.get_dofs(lambda x: x[1] > 1 - 1e-12).all()] = 1.0
        flows = (load @ solve(*condense(matrix, x=lid, D=edge)), load @ solve(*condense(matrix, load, D=edge)))
        return 2 * flows[0] / slender, 12 * flows[1] / slender

    drag, pressure = rectangle(41)
    ours = shape_factors(slender, 1.0)
    # In the lid's corners the velocity jumps, which no mesh resolves: the drag flow converges slowly there.
    assert drag == pytest.approx(ours[0], rel=2e-4)
    assert pressure == pytest.approx(ours[1], rel=1e-5)


def test_the_table_reaches_as_far_as_the_condition_says() -> None:
    for axis, places in zip(AXES, GRID, strict=True):
        rows = {float(row.text(axis)) for row in read_table("helix_factors").rows.values()}
        assert rows == set(places)
        assert REACH[axis] == (0.0 if axis == "depth_over_radius" else min(rows), max(rows))


@pytest.mark.parametrize(
    ("beyond", "words"),
    [
        ({"pitch": 1.0}, ""),
        ({"pitch": 0.9}, "pitches of 0.3 to 1.4"),
        ({"bore_diameter": 6.1, "pitch": 1.4}, "gaps over the tips of 0.03 to 0.5"),
        ({"flank_half_angle": 5.0}, "flanks of 15 to 45 degrees"),
        ({"core_diameter": 1.0}, "up to 0.46"),
    ],
)
def test_a_screw_that_no_elements_were_made_for_is_told(beyond: dict[str, float], words: str) -> None:
    told = [str(w) for w in changed("otter", **beyond).solution.warnings if "no finite elements were made" in str(w)]
    assert len(told) == bool(words) and all(words in one for one in told)


#: Where the screws of the table of factors lie: tip gap, depth and pitch over the radius of the bore, angle of a flank.
GRID = (
    (0.03, 0.06, 0.12, 0.22, 0.36, 0.5), (0.1, 0.18, 0.24, 0.32, 0.46), (0.3, 0.42, 0.55, 0.72, 0.9, 1.4),
    (15.0, 30.0, 45.0),
)  # fmt: skip

if __name__ == "__main__":
    if "factors" in sys.argv:
        for at in itertools.product(*GRID):
            print(" ".join(f"{x:g}" for x in at), *at, *(f"{x:.4f}" for x in factors(Shape(*at))), sep=",", flush=True)
    else:
        for screw in SCREWS:
            print(screw.name, *(f"{value:.5g}" for value in by_elements(screw).values()), sep=",")
