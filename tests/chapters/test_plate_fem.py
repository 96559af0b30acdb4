"""Plates against finite elements: thin plates with Morley's triangles, thick round ones as solid bodies.

The coefficient tables of ``plate/models.py`` were computed with `thin_plate`; here it computes places of each table
again, most of them between its entries. A supported *round* rim is left to the solid body: on a mesh with straight
edges a thin plate that rests on its rim converges to the wrong answer (the plate paradox).
"""

import numpy as np
import pytest
from scipy.sparse import csr_matrix
from scipy.sparse.linalg import eigsh
from skfem import (
    Basis,
    BilinearForm,
    ElementLineHermite,
    ElementQuad2,
    ElementTriMorley,
    ElementVector,
    MeshLine,
    MeshQuad,
    MeshTri,
    condense,
    solve,
)
from skfem.helpers import dd, grad

from tests.chapters.thin_plates import (
    POISSON,
    Where,
    bending,
    extrapolated,
    facets_of,
    number,
    on_corners,
    quarter,
    rectangle,
    solved,
    thin_plate,
)

pytestmark = pytest.mark.slow


# -- thin plates ---------------------------------------------------------------------------------------------------


@pytest.mark.outside("plate.round_clamped", "plate.round_clamped_stress", by="scikit-fem, ElementTriMorley")
@pytest.mark.parametrize("ratio", [0.2, 0.4])
def test_round_clamped(ratio: float) -> None:
    radii, turns = np.linspace(ratio, 1, 97), np.linspace(0, np.pi / 2, 65)
    mesh = MeshTri.init_tensor(radii, turns)
    mesh = MeshTri(np.array([mesh.p[0] * np.cos(mesh.p[1]), mesh.p[0] * np.sin(mesh.p[1])]), mesh.t)
    found = thin_plate(mesh, ratio, lambda at: np.hypot(*at) > 1 - 1e-7, lambda at: np.hypot(*at) > 1 - 1e-3)
    ours = solved(plate_span=200, seat_diameter=200 * ratio, plate_thickness=1)
    rigidity = number(ours, "flexural_rigidity")
    assert found.deflection * 0.1**2 / rigidity == pytest.approx(1 / number(ours, "round_clamped_stiffness"), rel=0.005)
    stress = found.stress * number(ours, "design_thrust") / 0.001**2
    assert stress == pytest.approx(number(ours, "round_clamped_stress"), rel=0.02)


@pytest.mark.outside("plate.navier", by="scikit-fem, ElementTriMorley")
@pytest.mark.parametrize("ratio", [1.0, 1.5, 2.5])
def test_point_force_on_a_rectangle(ratio: float) -> None:
    mesh = MeshTri.init_tensor(np.linspace(0, 0.5, 49), np.linspace(0, 0.5 * ratio, round(48 * ratio) + 1))
    found = thin_plate(mesh, 0.0, lambda at: (np.abs(at[0] - 0.5) < 1e-9) | (np.abs(at[1] - 0.5 * ratio) < 1e-9))
    ours = solved(plate_span=100, plate_width=100 * ratio)
    assert found.deflection == pytest.approx(number(ours, "centre_coefficient"), rel=0.005)


@pytest.mark.outside(
    "plate.four_edges", "plate.four_edges_stress", "plate.short_side", "plate.navier", "plate.bending", "plate.stress",
    by="scikit-fem, ElementTriMorley",
)  # fmt: skip
@pytest.mark.parametrize(
    ("long", "seat", "deflection", "stress"),
    [
        (1.0, 0.1, 0.01, 0.05), (1.0, 0.2, 0.01, 0.05), (1.0, 0.4, 0.01, 0.13), (1.5, 0.2, 0.03, 0.05),
        (2.0, 0.3, 0.07, 0.07),
    ],
)  # fmt: skip
def test_rectangle_with_a_seat(long: float, seat: float, deflection: float, stress: float) -> None:
    # The relations take the seat as small: what that costs is the tolerance here, and said in the chapter.
    found = extrapolated(rectangle(0.5, long / 2, seat / 2), 24)
    ours = solved("four edges", plate_span=100 * long, plate_width=100, seat_diameter=100 * seat, plate_thickness=1)
    compliance = found.deflection * 0.1**2 / number(ours, "flexural_rigidity")
    assert compliance == pytest.approx(1 / number(ours, "plate_bending_stiffness"), rel=deflection)
    assert 1 / compliance > 0.99 * number(ours, "plate_bending_stiffness"), "the relation errs to the soft side"
    peak = found.stress * number(ours, "design_thrust") / 0.001**2
    assert peak == pytest.approx(number(ours, "plate_stress"), rel=stress)


@pytest.mark.outside("plate.superposition", by="scikit-fem, ElementTriMorley")
@pytest.mark.parametrize("ratio", [1.0, 1.3, 1.7, 3.0])
def test_point_force_on_a_clamped_rectangle(ratio: float) -> None:
    found = extrapolated(rectangle(0.5, ratio / 2, 0.0, clamped=True), 24)
    ours = solved(plate_span=60, plate_width=60 * ratio)
    assert found.deflection == pytest.approx(number(ours, "clamped_coefficient"), rel=0.005)
    assert found.rim == pytest.approx(6 * number(ours, "edge_moment"), rel=0.01)


@pytest.mark.outside(
    "plate.four_clamped", "plate.four_clamped_stress", "plate.clamped_seat_stress", "plate.clamped_edge_stress",
    "plate.superposition", "plate.rim_relief", "plate.seated_clamped_share", "plate.bending", "plate.stress",
    by="scikit-fem, ElementTriMorley",
)  # fmt: skip
@pytest.mark.parametrize(
    ("long", "seat", "deflection", "stress", "rim"),
    [
        (1.0, 0.1, 0.005, 0.02, 0.01), (1.0, 0.2, 0.005, 0.05, 0.02), (1.0, 0.4, 0.015, 0.13, 0.04),
        (1.3, 0.2, 0.005, 0.03, 0.02), (1.3, 0.35, 0.015, 0.07, 0.03), (1.6, 0.3, 0.01, 0.03, 0.04),
        (2.0, 0.15, 0.005, 0.03, 0.02), (2.0, 0.4, 0.015, 0.03, 0.08), (3.0, 0.25, 0.005, 0.03, 0.03),
    ],
)  # fmt: skip
@pytest.mark.parametrize("turned", [False, True])
def test_clamped_rectangle_with_a_seat(
    long: float, seat: float, deflection: float, stress: float, rim: float, turned: bool
) -> None:
    # The relations take the seat as small: what that costs is the tolerance here, and said in the chapter.
    # The stress of this mesh is right within 2 %.
    found = extrapolated(rectangle(0.5, long / 2, seat / 2, clamped=True), 24)
    sides = (60 * long, 60) if turned else (60, 60 * long)
    ours = solved(
        "four edges, clamped", plate_span=sides[0], plate_width=sides[1], seat_diameter=60 * seat, plate_thickness=1
    )
    compliance = found.deflection * 0.06**2 / number(ours, "flexural_rigidity")
    assert compliance == pytest.approx(1 / number(ours, "plate_bending_stiffness"), rel=deflection)
    assert 1 / compliance > 0.997 * number(ours, "plate_bending_stiffness"), "the relation errs to the soft side"
    load = number(ours, "design_thrust") / 0.001**2
    assert found.stress * load == pytest.approx(number(ours, "plate_stress"), rel=stress)
    assert found.rim * load == pytest.approx(number(ours, "clamped_edge_stress"), rel=rim)
    assert number(ours, "plate_stress") == number(ours, "clamped_seat_stress"), "the seat is always the worse place"


@pytest.mark.outside(
    "plate.strip", "plate.two_edges", "plate.two_edges_stress", "plate.bending", "plate.stress",
    by="scikit-fem, ElementTriMorley",
)  # fmt: skip
@pytest.mark.parametrize(("width", "seat"), [(1.0, 0.3), (0.6, 0.2), (0.7, 0.45), (1.2, 0.15), (1.5, 0.5)])
def test_strip(width: float, seat: float) -> None:
    found = extrapolated(rectangle(0.5, width / 2, seat / 2, ends_only=True), 24)
    ours = solved("two edges", plate_span=100, plate_width=100 * width, seat_diameter=100 * seat, plate_thickness=1)
    compliance = found.deflection * 0.1**2 / number(ours, "flexural_rigidity")
    assert compliance == pytest.approx(1 / number(ours, "plate_bending_stiffness"), rel=0.015)
    peak = found.stress * number(ours, "design_thrust") / 0.001**2
    assert peak == pytest.approx(number(ours, "plate_stress"), rel=0.05)


@pytest.mark.outside(
    "plate.bolts", "plate.four_bolts", "plate.four_bolts_stress", "plate.bending", "plate.stress",
    by="scikit-fem, ElementTriMorley",
)  # fmt: skip
@pytest.mark.parametrize(("bolt", "seat"), [(0.1, 0.2), (0.13, 0.35), (0.17, 0.15), (0.2, 0.5)])
def test_four_bolts(bolt: float, seat: float) -> None:
    found = extrapolated(on_corners(seat / 2, bolt / 2), 30)
    ours = solved(
        "four bolts", plate_span=100, bolt_head_diameter=100 * bolt, seat_diameter=100 * seat, plate_thickness=1
    )
    compliance = found.deflection * 0.1**2 / number(ours, "flexural_rigidity")
    assert compliance == pytest.approx(1 / number(ours, "plate_bending_stiffness"), rel=0.015)
    peak = found.stress * number(ours, "design_thrust") / 0.001**2
    assert peak == pytest.approx(number(ours, "plate_stress"), rel=0.05)


@pytest.mark.outside(
    "plate.posts", "plate.four_posts", "plate.four_posts_stress", "plate.bending", "plate.stress",
    by="scikit-fem, ElementTriMorley",
)  # fmt: skip
@pytest.mark.parametrize("seat", [0.1, 0.25, 0.45])
def test_four_posts(seat: float) -> None:
    found = extrapolated(on_corners(seat / 2, 0.0), 24)
    ours = solved("four posts", plate_span=100, seat_diameter=100 * seat, plate_thickness=1)
    compliance = found.deflection * 0.1**2 / number(ours, "flexural_rigidity")
    assert compliance == pytest.approx(1 / number(ours, "plate_bending_stiffness"), rel=0.015)
    peak = found.stress * number(ours, "design_thrust") / 0.001**2
    assert peak == pytest.approx(number(ours, "plate_stress"), rel=0.05)


# -- plates that ring ----------------------------------------------------------------------------------------------


def slowest(mesh: MeshTri, held: Where, *, flat: bool = False, seat: float = 0.0, carried: float = 0.0) -> float:
    """Return the lowest angular frequency of a plate of rigidity 1 with a mass of 1 on each unit of its area.

    A quarter of it is meshed. ``held`` nodes stay; where ``flat`` the edge there does not tilt. A level seat carries
    a mass.
    """
    basis = Basis(mesh, ElementTriMorley(), intorder=4)

    @BilinearForm
    def moving(u, v, _):  # type: ignore[no-untyped-def]
        return u * v

    stiffness, mass = bending.assemble(basis), moving.assemble(basis)
    middles, edge, level = facets_of(mesh, seat)
    on_seat = np.hypot(*mesh.p) < seat + 1e-7
    level |= edge & held(middles) & flat
    fixed = np.concatenate([basis.nodal_dofs[0][held(mesh.p)], basis.facet_dofs[0][level]])
    tied = basis.nodal_dofs[0][on_seat] if carried else np.array([], dtype=int)
    free = np.setdiff1d(np.arange(basis.N), np.concatenate([fixed, tied]))
    rows, columns = np.concatenate([free, tied]), np.concatenate([np.arange(free.size), np.full(tied.size, free.size)])
    joined = csr_matrix((np.ones(rows.size), (rows, columns)), shape=(basis.N, free.size + bool(carried)))
    stiffness, mass = joined.T @ stiffness @ joined, (joined.T @ mass @ joined).tolil()
    if carried:
        mass[-1, -1] += carried / 4
    (square,) = eigsh(stiffness.tocsc(), 1, mass.tocsc(), sigma=0.0, return_eigenvectors=False)
    return float(np.sqrt(square))


def on_edges(at: np.ndarray) -> np.ndarray:
    return (np.abs(at - 0.5) < 1e-9).any(0)


@pytest.mark.parametrize(("flat", "published"), [(False, 19.7392), (True, 35.992)], ids=["supported", "clamped"])
def test_square_plates_ring_as_published(flat: bool, published: float) -> None:
    """Leissa, Vibration of Plates (NASA SP-160), square plates: for the first 2 pi squared, the second from memory."""
    coarse, fine = (slowest(quarter(0.5, 0.5, 0.5 / n, 0.0), on_edges, flat=flat) for n in (16, 32))
    assert fine + (fine - coarse) / 3 == pytest.approx(published, rel=5e-4)


def test_a_cantilever_with_a_mass_at_its_end_rings_as_rayleigh_has_it() -> None:
    """As much mass at the end as in the beam: 33/140 of its own count, and the exact frequency is 1.5573.

    Rayleigh's share is that of the shape of rest, a little stiff, so that it errs upwards by half a thousandth.
    """
    basis = Basis(MeshLine(np.linspace(0, 1, 21)), ElementLineHermite())
    stiffness = BilinearForm(lambda u, v, _: dd(u)[0][0] * dd(v)[0][0]).assemble(basis)
    mass = BilinearForm(lambda u, v, _: u * v).assemble(basis).tolil()
    mass[basis.nodal_dofs[0, -1], basis.nodal_dofs[0, -1]] += 1.0
    free = np.setdiff1d(np.arange(basis.N), basis.nodal_dofs[:, 0])
    (square,) = eigsh(
        stiffness.tocsc()[free][:, free], 1, mass.tocsc()[free][:, free], sigma=0.0, return_eigenvectors=False
    )
    assert np.sqrt(square) == pytest.approx(1.557298, rel=1e-5)
    assert np.sqrt(3 / (1 + 33 / 140)) == pytest.approx(np.sqrt(square), rel=6e-4)


@pytest.mark.outside("ringing.axial_frequency", by="scikit-fem, ElementTriMorley, eigenvalues")
@pytest.mark.parametrize("heavier", [3.0, 10.0, 30.0], ids="{:.0f} times the plate".format)
def test_a_plate_bounces_with_what_rides_on_it(heavier: float) -> None:
    """The relation lets all of the plate ride on its own spring, and errs downwards; an eighth of it is right.

    By Rayleigh's way a round clamped plate counts with 7/54 of its mass.
    """
    side, thick, density = 0.06, 0.004, 2700.0
    plate_mass = density * thick * side**2
    ours = solved(
        "four edges, clamped", plate_span=60, plate_width=60, seat_diameter=12, plate_thickness=4, motor_mass=0.0,
        gear_mass=1000 * heavier * plate_mass, plate_mass=1000 * plate_mass, screw_mass=0.0, head_stiffness=1.0,
    )  # fmt: skip
    stiffness = number(ours, "plate_bending_stiffness")
    bounce = number(ours, "axial_frequency") * np.sqrt(stiffness / 1e6)
    coarse, fine = (
        slowest(quarter(0.5, 0.5, 0.5 / n, 0.1), on_edges, flat=True, seat=0.1, carried=heavier) for n in (24, 48)
    )
    rigidity = number(ours, "flexural_rigidity")
    found = (fine + (fine - coarse) / 3) * np.sqrt(rigidity / (plate_mass * side**2)) / (2 * np.pi)
    assert bounce < found < bounce * (1 + 0.5 / heavier)
    assert found == pytest.approx(bounce * np.sqrt((heavier + 1) / (heavier + 7 / 54)), rel=0.01)


# -- round plates as solid bodies ----------------------------------------------------------------------------------


def solid_ring(outer: float, inner: float, thickness: float, *, clamped: bool) -> float:
    """Stiffness over Young's modulus of a solid ring whose bore moves along the axis and cannot tilt."""
    first, second = POISSON / ((1 + POISSON) * (1 - 2 * POISSON)), 1 / (2 * (1 + POISSON))
    mesh = MeshQuad.init_tensor(np.linspace(inner, outer, 61), np.linspace(-thickness / 2, thickness / 2, 9))
    basis = Basis(mesh, ElementVector(ElementQuad2()), intorder=5)

    @BilinearForm
    def elastic(u, v, w):  # type: ignore[no-untyped-def]
        radius = w.x[0]
        strains = []
        for field in (u, v):
            slope = grad(field)
            strains.append((slope[0, 0], slope[1, 1], field[0] / radius, slope[0, 1] + slope[1, 0]))
        (a, b, c, shear), (aa, bb, cc, shear_) = strains
        swell = first * (a + b + c) * (aa + bb + cc)
        return (swell + 2 * second * (a * aa + b * bb + c * cc) + second * shear * shear_) * 2 * np.pi * radius

    stiffness = elastic.assemble(basis)
    bore = basis.get_dofs(lambda x: np.abs(x[0] - inner) < 1e-12)
    moved = basis.zeros()
    moved[bore.all(["u^2"])] = 1.0
    if clamped:
        rim = basis.get_dofs(lambda x: np.abs(x[0] - outer) < 1e-12).all()
    else:
        middle = np.flatnonzero((np.abs(mesh.p[0] - outer) < 1e-12) & (np.abs(mesh.p[1]) < 1e-12))
        rim = basis.nodal_dofs[1, middle]
    moved = solve(*condense(stiffness, x=moved, D=np.unique(np.concatenate([bore.all(), rim]))))
    return float(moved @ (stiffness @ moved))


@pytest.mark.outside(
    "plate.shear", "plate.stiffness", "plate.round_clamped", "plate.round_supported", "plate.bending",
    by="scikit-fem, solid body of revolution, ElementQuad2",
)  # fmt: skip
@pytest.mark.parametrize("thickness", [0.05, 0.2, 0.5])
@pytest.mark.parametrize("ratio", [0.2, 0.5])
@pytest.mark.parametrize("rim", ["clamped", "supported"])
def test_thick_round_plate(rim: str, ratio: float, thickness: float) -> None:
    """Bending and shear in series agree with the solid body up to half the free width in thickness."""
    outer, inner = 0.1, 0.1 * ratio
    deep = thickness * (outer - inner)
    ours = solved(f"annular, outer edge {rim}", plate_span=200, seat_diameter=200 * ratio, plate_thickness=1000 * deep)
    solid = 200e9 * solid_ring(outer, inner, deep, clamped=rim == "clamped")
    assert number(ours, "plate_stiffness") == pytest.approx(solid, rel=0.05)
    if thickness == 0.5:
        assert number(ours, "plate_bending_stiffness") > 1.2 * solid, "without shear it would be far off"
