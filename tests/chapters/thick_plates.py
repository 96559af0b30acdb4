"""Plates that shear as well as bend, by finite elements: as Reissner and Mindlin have them, and as solid bodies.

The shear reaches of ``plate/models.py`` come from here; ``python -m tests.chapters.thick_plates`` prints them anew.
A quarter of a plate, with two planes of symmetry; its seat is pressed down, level. Lengths count in spans (in short
sides for rectangles held all round), and deflections are w D / (F l^2), as those of thin plates.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from augerbook.chapters.plate.models import (
    HEAD_OVER_SPAN,
    OVERHANG,
    SEAT_OVER_SPAN,
    SHORT_OVER_LONG,
    WIDTH_OVER_SPAN,
    bolt_coefficients,
    post_coefficients,
    strip_factors,
)
from scipy.sparse import csr_matrix
from scipy.sparse.linalg import splu
from skfem import Basis, BilinearForm, ElementTetP2, ElementTriP2, ElementVector, MeshTet, MeshTri
from skfem.helpers import ddot, dot, grad, sym_grad, trace

from tests.chapters.thin_plates import POISSON, Where, extrapolated, quarter, rectangle

Plate = Callable[[float], float]  # from thickness to deflection

#: Diameter of the posts in spans. A point would shear without bound; half as much adds 0.1 to 0.15 to the reach.
POST = 0.1
#: The seat of rectangles held all round, in short sides, for which their shear radius is found.
MIDDLE_SEAT = 0.3
ELEMENTS = 32  # on the shorter half side

# The first two fields are how lines across the plate lean, the third is how deep it sinks.


@BilinearForm
def bending(u, v, _):  # type: ignore[no-untyped-def]
    (a, b), (c, d) = grad(u)[:2]
    (aa, bb), (cc, dd) = grad(v)[:2]
    even = a * aa + d * dd + POISSON * (a * dd + d * aa)
    return even + (1 - POISSON) / 2 * (b + c) * (bb + cc)


@BilinearForm
def shearing(u, v, _):  # type: ignore[no-untyped-def]
    return dot(grad(u)[2] - u[:2], grad(v)[2] - v[:2])


@BilinearForm
def elastic(u, v, _):  # type: ignore[no-untyped-def]
    e, f = sym_grad(u), sym_grad(v)
    swell = POISSON / ((1 + POISSON) * (1 - 2 * POISSON))
    return swell * trace(e) * trace(f) + ddot(e, f) / (1 + POISSON)


def solved_for(stiffness: csr_matrix, load: np.ndarray, free: np.ndarray) -> np.ndarray:
    """Return what moves under a load where it is free to. The order of the unknowns suits a symmetric matrix."""
    inside = stiffness[free][:, free].tocsc()
    factors = splu(inside, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options={"SymmetricMode": True})
    moved = np.zeros(load.size)
    moved[free] = factors.solve(load[free])
    return moved


def fields_of(basis: Basis) -> np.ndarray:
    """Return for each unknown of quadratic elements which of the three fields it belongs to."""
    fields = np.zeros(basis.N, dtype=int)
    for k in range(3):
        fields[basis.nodal_dofs[k]] = k
        fields[(basis.facet_dofs if basis.mesh.dim() == 2 else basis.edge_dofs)[k]] = k
    return fields


def on_circle(basis: Basis, radius: float, x: float = 0.0, y: float = 0.0) -> np.ndarray:
    """Return which unknowns lie on a circle (a cylinder in a solid), whose mesh has straight edges."""
    mesh, found = basis.mesh, np.zeros(basis.N, dtype=bool)
    nodes = np.abs(np.hypot(mesh.p[0] - x, mesh.p[1] - y) - radius) < 1e-7
    found[basis.nodal_dofs[:, nodes]] = True
    if mesh.dim() == 2:
        found[basis.facet_dofs[:, nodes[mesh.facets].all(0)]] = True
    else:
        found[basis.edge_dofs[:, nodes[mesh.edges].all(0)]] = True
    return found


def leaning_plate(mesh: MeshTri, seat: float, held: Where | None, flat: Where | None = None, post: float = 0) -> Plate:
    """Return the plate of Reissner and Mindlin. ``held`` places stay down, ``flat`` ones do not lean.

    ``flat`` may answer with two rows, for what leans along x and along y.
    Or ``post`` is the radius of posts at the corners of the unit square, along whose rim their force is even.
    """
    basis = Basis(mesh, ElementVector(ElementTriP2(), 3), intorder=4)
    bent, sheared = bending.assemble(basis), shearing.assemble(basis)
    places, fields, pressed = basis.doflocs, fields_of(basis), on_circle(basis, seat)
    fixed = pressed | ((fields < 2) & (np.abs(np.where(fields == 0, *places)) < 1e-9))
    if held:
        fixed |= (fields == 2) & held(places)
    if flat:
        fixed |= (fields < 2) & np.where(fields == 0, *np.broadcast_to(flat(places), (2, basis.N)))
    free = np.flatnonzero(~fixed)
    down = 1.0 * (pressed & (fields == 2))
    corners = 1.0 * (on_circle(basis, post, 0.5, 0.5) & (fields == 2)) if post else np.zeros(basis.N)
    corners[basis.facet_dofs] *= 2  # Simpson's rule round the post: middles of edges count twice as much as ends

    def deflection(thickness: float) -> float:
        stiffness = (bent + 5 * (1 - POISSON) / thickness**2 * sheared).tocsr()
        if post:
            force = corners / corners.sum()
            return float(force @ solved_for(stiffness, force, free)) / 4
        moved = down + solved_for(stiffness, -(stiffness @ down), free)
        return float(1 / (4 * moved @ (stiffness @ moved)))

    return deflection


def solid_plate(mesh: MeshTri, seat: float, held: Where, flat: Where | None = None, layers: int = 3) -> Plate:
    """Return the plate as a solid body, without any plate theory: quadratic tetrahedra in the upper half of it.

    The seat is a rigid cylinder. ``held`` places stay down over the whole thickness, ``flat`` ones do not move at all.
    """
    count, corners = mesh.p.shape[1], np.sort(mesh.t, axis=0)

    def deflection(thickness: float) -> float:
        heights = np.linspace(0, thickness / 2, layers + 1)
        points = np.vstack([np.tile(mesh.p, layers + 1), np.repeat(heights, count)])
        low = np.hstack([corners + k * count for k in range(layers)])
        high = low + count
        cut = [(*low[: k + 1], *high[k:]) for k in range(3)]  # each prism into three tetrahedra
        basis = Basis(MeshTet(points, np.hstack([np.array(part) for part in cut])), ElementVector(ElementTetP2()))
        stiffness = elastic.assemble(basis).tocsr()
        places, fields, pressed = basis.doflocs, fields_of(basis), on_circle(basis, seat)
        # Of the middle plane no place moves within it: below, all moves sideways as much the other way.
        still = np.abs(np.where(fields == 0, *places[:2])) < 1e-9
        fixed = pressed | ((fields < 2) & (still | (places[2] < 1e-9))) | ((fields == 2) & held(places))
        if flat:
            fixed |= flat(places)
        down = 1.0 * (pressed & (fields == 2))
        moved = down + solved_for(stiffness, -(stiffness @ down), np.flatnonzero(~fixed))
        return float(thickness**3 / (12 * (1 - POISSON**2)) / (8 * moved @ (stiffness @ moved)))

    return deflection


def strip(width: float, seat: float, body: Callable[..., Plate] = leaning_plate, elements: int = ELEMENTS) -> Plate:
    """A strip that rests on two edges: diameters and sides in spans, as everywhere below."""
    mesh = quarter(0.5, width / 2, min(0.5, width / 2) / elements, seat / 2)
    return body(mesh, seat / 2, lambda at: np.abs(at[0] - 0.5) < 1e-9)


def bolts(head: float, seat: float, body: Callable[..., Plate] = leaning_plate, elements: int = ELEMENTS) -> Plate:
    def within(at: np.ndarray) -> np.ndarray:
        return np.hypot(at[0] - 0.5, at[1] - 0.5) < head / 2 + 1e-7

    half = 0.5 + OVERHANG
    return body(quarter(half, half, half / elements, seat / 2, ((0.5, 0.5, head / 2),)), seat / 2, within, within)


def posts(seat: float, diameter: float = POST) -> Plate:
    half = 0.5 + OVERHANG
    mesh = quarter(half, half, half / ELEMENTS, seat / 2, ((0.5, 0.5, diameter / 2),))
    return leaning_plate(mesh, seat / 2, None, post=diameter / 2)


def all_round(
    long: float, seat: float, *, clamped: bool, body: Callable[..., Plate] = leaning_plate, elements: int = ELEMENTS
) -> Plate:
    """A rectangle with a short side of one, on four edges."""

    def rim(at: np.ndarray) -> np.ndarray:
        return (np.abs(at[0] - 0.5) < 1e-9) | (np.abs(at[1] - long / 2) < 1e-9)

    mesh = quarter(0.5, long / 2, 0.5 / elements, seat / 2)
    return body(mesh, seat / 2, rim, rim if clamped else None)


def half_free(seat: float) -> float:
    """Half of the free width: the thickness at which the reaches are found."""
    return (1 - seat) / 4


def reach(plate: Plate, thin: float, thickness: float) -> float:
    """Return what a plate sinks beyond a thin one, over F / (2 pi kappa G t) with kappa = 5/6."""
    return 10 * np.pi * (1 - POISSON) * (plate(thickness) - thin) / thickness**2


def strip_reach(width: float, seat: float) -> float:
    thin = float(strip_factors(1.0, width, seat)[0]) / (48 * width)
    return reach(strip(width, seat), thin, half_free(seat))


def bolts_reach(head: float, seat: float) -> float:
    return reach(bolts(head, seat), float(bolt_coefficients(1.0, seat, head)[0]), half_free(seat))


def posts_reach(seat: float) -> float:
    return reach(posts(seat), float(post_coefficients(1.0, seat)[0]), half_free(seat))


def shear_radius(over: float, *, clamped: bool) -> float:
    """Return the radius, in short sides, of the round plate that shears as far; ``over`` is short over long side."""
    seat = MIDDLE_SEAT
    thin = extrapolated(rectangle(0.5, 0.5 / over, seat / 2, clamped=clamped), 24).deflection
    return seat / 2 * np.exp(reach(all_round(1 / over, seat, clamped=clamped), thin, half_free(seat)))


def rows() -> dict[str, list[list[float]]]:
    """Return all tables of ``plate/models.py`` that hold shear, by their names."""
    return {
        "_STRIP_SHEAR": [[strip_reach(width, seat) for seat in SEAT_OVER_SPAN] for width in WIDTH_OVER_SPAN],
        "_BOLTS_SHEAR": [[bolts_reach(head, seat) for seat in SEAT_OVER_SPAN] for head in HEAD_OVER_SPAN],
        "_POSTS_SHEAR": [[posts_reach(seat) for seat in SEAT_OVER_SPAN]],
        "_SUPPORTED_RADIUS": [[shear_radius(over, clamped=False) for over in SHORT_OVER_LONG]],
        "_CLAMPED_RADIUS": [[shear_radius(over, clamped=True) for over in SHORT_OVER_LONG]],
    }


if __name__ == "__main__":
    for name, table in rows().items():
        print(name)
        for row in table:
            print("   ", "(" + ", ".join(f"{value:.3f}" for value in row) + "),")
