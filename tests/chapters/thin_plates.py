"""Thin plates by finite elements (Morley's triangles): a quarter of a plate whose seat is pressed down, level.

Lengths count in spans, and the flexural rigidity is one.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from augerbook.chapters import whole_head
from augerbook.chapters.plate.models import OVERHANG
from augerbook.core.network import Solution
from scipy.spatial import Delaunay
from skfem import Basis, BilinearForm, ElementTriMorley, MeshTri, condense, solve
from skfem.helpers import dd, ddot, trace

POISSON = 0.3
Disc = tuple[float, float, float]
Where = Callable[[np.ndarray], np.ndarray]


def solved(support: str = "", **shown: float) -> Solution:
    """Solve the head's network for a steel-like plate with the given values, in the units shown to people."""
    network = whole_head()
    base = {"plate_youngs_modulus": 200.0, "plate_poisson_ratio": POISSON, "design_thrust": 100.0}
    values = {network.quantities[k]: network.quantities[k].si(v) for k, v in (base | shown).items()}
    return network.solve(values, {network.choices["plate_support"]: support} if support else {})


def number(solution: Solution, key: str) -> float:
    return solution[whole_head().quantities[key]]


def quarter(half_x: float, half_y: float, size: float, seat: float, others: tuple[Disc, ...] = ()) -> MeshTri:
    """Mesh a quarter of a plate without its seat: rings round the seat and other discs (x, y, radius), a grid between.

    A disc of radius zero is a node. All lengths are radii or half sides.
    """
    clouds, zones = [], []
    for x, y, radius in ((0.0, 0.0, seat), *others):
        if radius == 0:
            clouds.append(np.array([[x, y]]))
            zones.append((x, y, 0.3 * size))
            continue
        count = 4 * round(max(24, 0.5 / size, 2 * np.pi * radius / size) / 4)
        turn = 2 * np.pi * np.arange(count) / count
        ring, step = radius, 2 * np.pi * radius / count
        clouds += [np.array([[x, y]])] if x else []
        while True:
            clouds.append(np.column_stack([x + ring * np.cos(turn), y + ring * np.sin(turn)]))
            if step >= 0.9 * size:
                break
            ring += 0.95 * step
            step = 2 * np.pi * ring / count
        zones.append((x, y, ring + 0.6 * step))
    axes = [np.linspace(0, half, round(half / size) + 1) for half in (half_x, half_y)]
    grid = np.column_stack([part.ravel() for part in np.meshgrid(*axes)])
    free = np.all([np.hypot(grid[:, 0] - x, grid[:, 1] - y) > zone for x, y, zone in zones], axis=0)
    points = np.vstack([*clouds, grid[free]])
    points[np.abs(points) < 1e-9] = 0.0
    inside = (points >= 0).all(1) & (points[:, 0] <= half_x + 1e-9) & (points[:, 1] <= half_y + 1e-9)
    inside &= np.hypot(*points.T) >= seat - 1e-9
    points = np.unique(np.round(points[inside], 12), axis=0)
    triangles = Delaunay(points).simplices
    corners = points[triangles]
    first, second = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    area = np.abs(first[:, 0] * second[:, 1] - first[:, 1] * second[:, 0]) / 2
    in_seat = (np.hypot(corners[..., 0], corners[..., 1]) < seat + 1e-8).all(1)
    kept = triangles[(area > 1e-10) & ~in_seat]
    used, renumbered = np.unique(kept, return_inverse=True)
    return MeshTri(points[used].T.copy(), renumbered.reshape(kept.shape).T.copy())


@BilinearForm
def bending(u, v, _):  # type: ignore[no-untyped-def]
    return (1 - POISSON) * ddot(dd(u), dd(v)) + POISSON * trace(dd(u)) * trace(dd(v))


@dataclass(frozen=True)
class Found:
    """Deflection w D / F of the whole plate, peak stress sigma t^2 / F, and the same at supports that hold it flat."""

    deflection: float
    stress: float
    rim: float = 0.0


def facets_of(mesh: MeshTri, seat: float) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return the middles of a quarter's facets, which lie on its edge, and which of these stay level: seat, mirrors."""
    middles = mesh.p[:, mesh.facets].mean(1)
    edge = np.zeros(mesh.facets.shape[1], dtype=bool)
    edge[mesh.boundary_facets()] = True
    return middles, edge, edge & ((np.hypot(*middles) < seat + 1e-7) | (np.abs(middles) < 1e-9).any(0))


def thin_plate(mesh: MeshTri, seat: float, held: Where, flat: Where | None = None) -> Found:
    """Press the seat of a quarter plate down by one, level; ``held`` nodes stay down, ``flat`` facets do not tilt."""
    basis = Basis(mesh, ElementTriMorley(), intorder=2)
    stiffness = bending.assemble(basis)
    middles, edge, level = facets_of(mesh, seat)
    on_seat = np.hypot(*mesh.p) < seat + 1e-7
    rim = np.zeros_like(edge) if flat is None else flat(middles)
    level |= rim
    nodes, facets = basis.nodal_dofs[0], basis.facet_dofs[0]
    bent = np.zeros(basis.N)
    bent[nodes[on_seat]] = 1.0
    fixed = np.concatenate([nodes[on_seat | held(mesh.p)], facets[level]])
    bent = solve(*condense(stiffness, x=bent, D=np.unique(fixed)))
    load = stiffness @ bent
    force = 4 * bent @ load
    # Where an edge may not tilt, what keeps it from tilting is the bending moment: this is far smoother than the
    # moments of the elements beside it, and the largest one of a plate held flat at seat and supports.
    stopped = edge & (np.hypot(*middles) < seat + 1e-7) if flat is None else level & ~(np.abs(middles) < 1e-9).any(0)

    def largest(where: np.ndarray) -> float:
        ends = mesh.p[:, mesh.facets[:, where]]
        moment = np.abs(load[facets[where]]) / np.hypot(*(ends[:, 1] - ends[:, 0]))
        return 6 * moment.max(initial=0.0) / force

    return Found(1 / force, largest(stopped), largest(rim))


def extrapolated(plate: Callable[[int], Found], elements: int) -> Found:
    """Take two meshes: deflection extrapolated with the square of the element size, stress from the finer one."""
    coarse, fine = plate(elements), plate(2 * elements)
    return Found(fine.deflection + (fine.deflection - coarse.deflection) / 3, fine.stress, fine.rim)


def rectangle(
    half_x: float, half_y: float, seat: float, *, ends_only: bool = False, clamped: bool = False
) -> Callable[[int], Found]:
    def held(at: np.ndarray) -> np.ndarray:
        return (np.abs(at[0] - half_x) < 1e-9) | ((np.abs(at[1] - half_y) < 1e-9) & (not ends_only))

    size = min(half_x, half_y)
    return lambda n: thin_plate(quarter(half_x, half_y, size / n, seat), seat, held, held if clamped else None)


def on_corners(seat: float, bolt: float) -> Callable[[int], Found]:
    """A square plate with bolts one length apart; ``bolt`` is the heads' radius, zero for posts that tilt."""

    def within(at: np.ndarray) -> np.ndarray:
        return np.hypot(at[0] - 0.5, at[1] - 0.5) < bolt + 1e-7

    half = 0.5 + OVERHANG
    return lambda n: thin_plate(
        quarter(half, half, half / n, seat, ((0.5, 0.5, bolt),)), seat, within, within if bolt else None
    )
