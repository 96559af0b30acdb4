"""Bending and shear together against plates that shear, and against solid bodies; and these against what is known."""

from collections.abc import Callable

import numpy as np
import pytest
from augerbook.chapters.plate import models
from skfem import MeshTri

from tests.chapters import thick_plates
from tests.chapters.thick_plates import Plate, half_free, leaning_plate, solid_plate
from tests.chapters.thin_plates import POISSON, number, quarter, solved

pytestmark = pytest.mark.slow

SEATS = models.SEAT_OVER_SPAN


def sunk(support: str, thickness: float, key: str = "plate_stiffness", **over_span: float) -> float:
    """Return what the handbook says that a plate sinks, w D / (F l^2) as finite elements give it; sizes in spans."""
    sizes = {name: 100 * size for name, size in over_span.items()}
    ours = solved(support, plate_span=100, plate_thickness=100 * thickness, **sizes)
    return number(ours, "flexural_rigidity") / (number(ours, key) * 0.1**2)


# -- the elements themselves ---------------------------------------------------------------------------------------


@pytest.mark.outside("plate.round_reach", "plate.reach", by="scikit-fem, the plate of Reissner and Mindlin")
def test_a_round_plate_shears_by_the_logarithm() -> None:
    """On a mesh of straight edges: 0.2 % with 48 of them on a quarter of the circle."""
    seat, thickness = 0.3, 0.175
    radii, turns = np.linspace(seat / 2, 0.5, 25), np.linspace(0, np.pi / 2, 49)
    mesh = MeshTri.init_tensor(radii, turns)
    mesh = MeshTri(np.array([mesh.p[0] * np.cos(mesh.p[1]), mesh.p[0] * np.sin(mesh.p[1])]), mesh.t)

    def rim(at: np.ndarray) -> np.ndarray:
        return np.hypot(*at) > 0.5 - 1e-3

    plate = leaning_plate(mesh, seat / 2, rim, rim)
    thin = (1 - seat**2 - 4 * seat**2 * np.log(seat) ** 2 / (1 - seat**2)) / (64 * np.pi)
    assert thick_plates.reach(plate, thin, thickness) == pytest.approx(-np.log(seat), rel=0.01)
    ours = solved("annular, outer edge clamped", plate_span=100, seat_diameter=100 * seat)
    assert number(ours, "shear_reach") == pytest.approx(thick_plates.reach(plate, thin, thickness), rel=0.01)


def test_a_narrow_strip_is_timoshenkos_beam() -> None:
    """F l / (4 kappa G A) from bar to bar; the seat takes off up to its own diameter."""
    width, seat, thin, thick = 0.03, 0.01, 0.15, 0.3
    plate = thick_plates.strip(width, seat, elements=8)
    beam = (thick**2 - thin**2) / (20 * (1 - POISSON) * width)
    assert (1 - 1.5 * seat) * beam < plate(thick) - plate(thin) < 1.01 * beam


def test_a_square_on_upright_edges_shears_by_the_logarithm() -> None:
    """Where lines along the edges may not lean, moments and shear part (Marcus): the radius is that of the moments."""
    seat, mesh = 0.3, quarter(0.5, 0.5, 0.5 / 32, 0.15)

    def held(at: np.ndarray) -> np.ndarray:
        return (np.abs(at - 0.5) < 1e-9).any(0)

    def upright(at: np.ndarray) -> np.ndarray:
        return np.abs(at[::-1] - 0.5) < 1e-9  # on the edge across x no lean along y, and the other way round

    plate = leaning_plate(mesh, seat / 2, held, upright)
    thin = (plate(0.02) * 0.1**2 - plate(0.1) * 0.02**2) / (0.1**2 - 0.02**2)
    radius = float(models.navier(1.0, 1.0)[1])
    assert thick_plates.reach(plate, thin, 0.175) == pytest.approx(np.log(2 * radius / seat), rel=0.01)


# -- the tables ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("row", "seat"), [(0, 2), (1, 8), (2, 4), (3, 0)])
def test_table_of_strips(row: int, seat: int) -> None:
    found = thick_plates.strip_reach(models.WIDTH_OVER_SPAN[row], SEATS[seat])
    assert models.strip_factors(1.0, models.WIDTH_OVER_SPAN[row], SEATS[seat])[2] == pytest.approx(found, abs=0.002)


@pytest.mark.parametrize(("row", "seat"), [(0, 0), (1, 4), (2, 8)])
def test_table_of_bolts(row: int, seat: int) -> None:
    found = thick_plates.bolts_reach(models.HEAD_OVER_SPAN[row], SEATS[seat])
    assert models.bolt_coefficients(1.0, SEATS[seat], models.HEAD_OVER_SPAN[row])[2] == pytest.approx(found, abs=0.002)


@pytest.mark.parametrize("seat", [0, 4, 8])
def test_table_of_posts(seat: int) -> None:
    found = thick_plates.posts_reach(SEATS[seat])
    assert models.post_coefficients(1.0, SEATS[seat])[2] == pytest.approx(found, abs=0.002)


@pytest.mark.parametrize("over", [models.SHORT_OVER_LONG[0], models.SHORT_OVER_LONG[4], models.SHORT_OVER_LONG[8]])
@pytest.mark.parametrize("clamped", [False, True])
def test_tables_of_rectangles(over: float, clamped: bool) -> None:
    found = thick_plates.shear_radius(over, clamped=clamped)
    seat = thick_plates.MIDDLE_SEAT
    ours = models.rectangle_reaches(1 / over, 1.0, seat)[clamped]
    assert ours == pytest.approx(np.log(2 * found / seat), abs=0.002)


def test_how_much_the_size_of_the_posts_matters() -> None:
    """A tenth of the span is taken; the sum of bending and shear hardly knows."""
    seat = 0.3
    slender, stout = (thick_plates.posts(seat, diameter)(half_free(seat)) for diameter in (0.06, 0.15))
    taken = sunk("four posts", half_free(seat), seat_diameter=seat)
    assert slender == pytest.approx(taken, rel=0.02)
    assert stout == pytest.approx(taken, rel=0.02)


# -- bending and shear together ------------------------------------------------------------------------------------


#: Between the entries of the tables, and at their corners: sizes in spans.
BETWEEN = {
    "narrow strip": ("two edges", {"plate_width": 0.7, "seat_diameter": 0.22}),
    "wide strip": ("two edges", {"plate_width": 1.25, "seat_diameter": 0.42}),
    "strip, all seat": ("two edges", {"plate_width": 0.6, "seat_diameter": 0.5}),
    "small bolts": ("four bolts", {"bolt_head_diameter": 0.1, "seat_diameter": 0.1}),
    "bolts": ("four bolts", {"bolt_head_diameter": 0.12, "seat_diameter": 0.32}),
    "large bolts": ("four bolts", {"bolt_head_diameter": 0.18, "seat_diameter": 0.48}),
    "square": ("four edges", {"plate_width": 1.0, "seat_diameter": 0.2}),
    "clamped square": ("four edges, clamped", {"plate_width": 1.0, "seat_diameter": 0.4}),
    "clamped rectangle": ("four edges, clamped", {"plate_width": 1.55, "seat_diameter": 0.2}),
}


def built(kind: str, body: Callable[..., Plate], elements: int) -> Plate:
    support, sizes = BETWEEN[kind]
    seat = sizes["seat_diameter"]
    if support == "two edges":
        return thick_plates.strip(sizes["plate_width"], seat, body, elements)
    if support == "four bolts":
        return thick_plates.bolts(sizes["bolt_head_diameter"], seat, body, elements)
    return thick_plates.all_round(
        sizes["plate_width"], seat, clamped="clamped" in support, body=body, elements=elements
    )


@pytest.mark.outside(
    "plate.shear", "plate.reach", "plate.stiffness", "plate.strip", "plate.bolts", "plate.rectangle_reaches",
    by="scikit-fem, the plate of Reissner and Mindlin",
)  # fmt: skip
@pytest.mark.parametrize("kind", BETWEEN)
def test_sum_against_plates_that_shear(kind: str) -> None:
    """At half the free width the sum is theirs; thinner plates are up to 6 % softer than the sum (small bolts)."""
    support, sizes = BETWEEN[kind]
    plate, limit = built(kind, leaning_plate, 24), half_free(sizes["seat_diameter"])
    assert sunk(support, limit, **sizes) == pytest.approx(plate(limit), rel=0.02)
    assert sunk(support, limit / 2, **sizes) == pytest.approx(plate(limit / 2), rel=0.06)


@pytest.mark.outside("plate.posts", by="scikit-fem, the plate of Reissner and Mindlin")
@pytest.mark.parametrize("seat", [0.12, 0.33, 0.47])
def test_sum_on_posts_against_plates_that_shear(seat: float) -> None:
    plate = thick_plates.posts(seat)
    for part in (0.5, 1.0):
        ours = sunk("four posts", part * half_free(seat), seat_diameter=seat)
        assert ours == pytest.approx(plate(part * half_free(seat)), rel=0.01)


@pytest.mark.outside(
    "plate.shear", "plate.stiffness", "plate.strip", "plate.bolts", "plate.rectangle_reaches",
    by="scikit-fem, solid bodies, ElementTetP2",
)  # fmt: skip
@pytest.mark.parametrize("kind", BETWEEN)
def test_sum_against_solid_bodies(kind: str) -> None:
    """Without any plate theory: within 5 % up to half the free width, where bending alone is far too stiff."""
    support, sizes = BETWEEN[kind]
    solid, limit = built(kind, solid_plate, 12), half_free(sizes["seat_diameter"])
    thick = solid(limit)
    assert sunk(support, limit / 2, **sizes) == pytest.approx(solid(limit / 2), rel=0.05)
    assert sunk(support, limit, **sizes) == pytest.approx(thick, rel=0.05)
    assert sunk(support, limit, "plate_bending_stiffness", **sizes) < 0.82 * thick


@pytest.mark.parametrize("kind", BETWEEN)
def test_thicker_plates_are_stiffer_than_computed(kind: str) -> None:
    """As the warning says: half as thick again, they sink 6 to 12 % less."""
    support, sizes = BETWEEN[kind]
    thickness = 1.5 * half_free(sizes["seat_diameter"])
    less = built(kind, solid_plate, 12)(thickness) / sunk(support, thickness, **sizes)
    assert 0.87 < less < 0.95
