"""Melt in one pitch of the gap by finite elements: what lubrication leaves out, and the side walls of a channel.

The film is unwrapped as in the chapter, so that only one thing differs: here the flow follows the flanks. Along the
groove a velocity that depends on the section only (Poisson, Laplace); across it Stokes flow, periodic over one pitch.
The section is symmetric about the middle of crest and floor, so half of it does: there the velocity across has no
part towards the wall, and the pressure is even.

``data/tables/wide_gap_fem.csv`` holds the outcome for the screws it lists; here it is computed again. To change the
table, run ``python -m tests.subjects.test_pumping_fem``, which prints its lines.
"""

from typing import NamedTuple

import numpy as np
import pytest
from augerbook.core.network import Solution
from augerbook.subjects import head
from augerbook.subjects.pumping_models import shape_factors
from augerbook.tables import Row, read_table
from scipy.sparse import bmat
from skfem import Basis, BilinearForm, ElementQuad1, ElementQuad2, ElementVector, LinearForm, MeshQuad, condense, solve
from skfem.helpers import ddot, div, dot, grad

GIVEN = ("bore_diameter", "major_diameter", "core_diameter", "pitch", "flank_half_angle", "crest_width")
RESULTS = ("drag_volume", "back_conductance", "wall_drag")
TABLE = read_table("wide_gap_fem")
SCREWS = list(TABLE.rows.values())


def solved(row: Row) -> Solution:
    """Solve the head's network for the screw of a row, centred."""
    quantities = head().quantities
    values = {quantities[key]: row.si(key) for key in GIVEN}
    return head().solve({**values, quantities["eccentricity"]: 0.0}, {head().choices["screw_offset"]: "leaning"})


def of(solution: Solution, key: str) -> float:
    return solution[head().quantities[key]]


@BilinearForm
def laplace(u, v, _):  # type: ignore[no-untyped-def]
    return dot(grad(u), grad(v))


@BilinearForm
def stokes(u, v, _):  # type: ignore[no-untyped-def]
    return ddot(grad(u), grad(v))


@BilinearForm
def incompressible(u, q, _):  # type: ignore[no-untyped-def]
    return -div(u) * q


@LinearForm
def along(v, _):  # type: ignore[no-untyped-def]
    return v


@LinearForm
def across(v, _):  # type: ignore[no-untyped-def]
    return v[0]


class Section(NamedTuple):
    """Drag flow, flow back and shear on the wall, along the groove and across it, averaged over the period (SI)."""

    drag_along: float
    drag_across: float
    back_along: float
    back_across: float
    shear_along: float
    shear_across: float


def half_period(tip: float, core: float, crest: float, root: float, period: float, fine: int) -> MeshQuad:
    """Mesh the gap from the middle of the crest to the middle of the floor; the wall is at y = 0."""
    corners = np.array([0.0, crest / 2, root / 2, period / 2])
    pieces = [np.linspace(a, b, n * fine + 1) for a, b, n in zip(corners, corners[1:], (3, 8, 9), strict=False)]
    plain = MeshQuad.init_tensor(np.unique(np.concatenate(pieces).round(12)), np.linspace(0, 1, 9 * fine + 1))
    gap = np.interp(plain.p[0], corners, [tip, tip, core, core])
    mesh = MeshQuad(np.array([plain.p[0], plain.p[1] * gap]), plain.t)
    sides = {"left": plain.p[0] < 1e-9, "right": plain.p[0] > period / 2 - 1e-9,
             "wall": plain.p[1] < 1e-9, "screw": plain.p[1] > 1 - 1e-9}  # fmt: skip
    facets = mesh.boundary_facets()
    return mesh.with_boundaries({name: facets[on[mesh.facets[:, facets]].all(0)] for name, on in sides.items()})


def section(tip: float, core: float, crest: float, root: float, period: float, fine: int = 2) -> Section:
    """Solve the four problems on a section square to the groove (lengths in mm, whole period)."""
    mesh = half_period(tip, core, crest, root, period, fine)
    basis = Basis(mesh, ElementQuad2())
    matrix, load = laplace.assemble(basis), along.assemble(basis)
    held = basis.get_dofs(["wall", "screw"]).all()
    driven = solve(*condense(matrix, load, D=held))
    moving = basis.zeros()
    moving[basis.get_dofs("wall").all()] = 1.0
    dragged = solve(*condense(matrix, x=moving, D=held))

    velocity = Basis(mesh, ElementVector(ElementQuad2()), intorder=4)
    pressure = velocity.with_element(ElementQuad1())
    viscous, coupling = stokes.assemble(velocity), incompressible.assemble(velocity, pressure)
    whole, push = bmat([[viscous, coupling.T], [coupling, None]], "csr"), across.assemble(velocity)
    rest = [velocity.get_dofs(["wall", "screw"]).all(), velocity.get_dofs(["left", "right"]).all("u^2")]
    fixed = np.unique(np.concatenate(rest))
    pushed = solve(*condense(whole, np.concatenate([push, pressure.zeros()]), D=fixed))[: velocity.N]
    lid = np.zeros(velocity.N + pressure.N)
    lid[velocity.get_dofs("wall").all("u^1")] = 1.0
    carried = solve(*condense(whole, x=lid, D=fixed))[: velocity.N]
    # The work of the wall is the stress on it times its speed, one.
    totals = (load @ dragged, push @ carried, load @ driven, push @ pushed, dragged @ matrix @ dragged,
              carried @ viscous @ carried)  # fmt: skip
    return Section(*(2 * float(total) / period for total in totals))


def by_elements(row: Row, fine: int = 2) -> dict[str, float]:
    """V_d (mm**3), G_p (mm**4) and J (mm**2) of a screw by finite elements, unwrapped at the same radius and angle."""
    solution = solved(row)
    angle, radius = of(solution, "groove_angle"), 1e3 * of(solution, "melt_radius")
    sine, cosine = np.sin(angle), np.cos(angle)
    tip, core, crest, root, pitch, bore = (
        1e3 * of(solution, key)
        for key in ("tip_gap", "core_gap", "crest_width", "root_width", "pitch", "bore_diameter")
    )
    found = section(tip, core, crest * cosine, root * cosine, pitch * cosine, fine)
    around = 2 * np.pi * radius
    return {
        "drag_volume": around * np.pi * bore * sine * cosine * (found.drag_along - found.drag_across),
        "back_conductance": around * (found.back_along * sine**2 + found.back_across * cosine**2),
        "wall_drag": around * bore**2 / 4 * (found.shear_along * cosine**2 + found.shear_across * sine**2),
    }


@pytest.mark.parametrize("row", SCREWS, ids=lambda row: row.name)
def test_the_table_holds_what_finite_elements_give(row: Row) -> None:
    found = by_elements(row)
    for key in RESULTS:
        assert float(row.text(key)) == pytest.approx(found[key], rel=1e-3), key


def test_twice_as_many_elements_change_little() -> None:
    row = TABLE.row("otter")
    coarse, fine = by_elements(row), by_elements(row, fine=3)
    for key in RESULTS:
        assert coarse[key] == pytest.approx(fine[key], rel=0.004), key


@pytest.mark.outside("pumping.screw_in_bore", by="scikit-fem, Stokes flow over one pitch")
def test_lubrication_is_right_for_gentle_flanks() -> None:
    """Flanks that rise by two degrees and a half: there the quick formula must be right."""
    row = TABLE.row("stretched")
    ours = solved(row)
    for key, factor in (("drag_volume", 1e9), ("back_conductance", 1e12), ("wall_drag", 1e6)):
        assert factor * of(ours, key) == pytest.approx(float(row.text(key)), rel=0.005), key


@pytest.mark.parametrize("row", SCREWS, ids=lambda row: row.name)
def test_lubrication_errs_to_the_low_side_by_less_than_two(row: Row) -> None:
    """What the chapter says of real flanks: stiffness and torque come out low, the stiffness at most by half."""
    ours = solved(row)
    stiffness = row.si("drag_volume") / row.si("back_conductance") / (2 * np.pi)
    assert 0.99 < stiffness / of(ours, "pump_stiffness") < 2.0
    assert 0.99 < row.si("wall_drag") / of(ours, "wall_drag") < 1.3


def test_screws_keep_their_order() -> None:
    real = [row for row in SCREWS if row.name != "stretched"]
    quick = [of(solved(row), "pump_stiffness") for row in real]
    exact = [row.si("drag_volume") / row.si("back_conductance") for row in real]
    assert list(np.argsort(quick)) == list(np.argsort(exact))


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


if __name__ == "__main__":
    for screw in SCREWS:
        print(screw.name, *(f"{value:.5g}" for value in by_elements(screw).values()), sep=",")
