"""The screw against a mesh of its flight, points thrown into its bore, the space curve of its tip, and circles."""

import math

import numpy as np
import pytest
from augerbook.builds.shipped import shipped_build, shipped_builds
from augerbook.chapters import whole_head
from augerbook.core.network import Solution
from augerbook.tables import read_table
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.integrate import dblquad, quad
from scipy.optimize import minimize_scalar
from scipy.stats import qmc

COACH = {
    "major_diameter": 6.0, "core_diameter": 4.2, "pitch": 2.6, "flank_half_angle": 30.0, "crest_width": 0.15,
    "flighted_length": 70.0, "bore_diameter": 8.0, "sieve_mesh": 2.0,
}  # fmt: skip
#: A coach screw, a fine thread with thick crests, and a steep conveyor with thin flights, in mm and degrees.
SCREWS = [
    COACH,
    COACH | {"major_diameter": 10.0, "core_diameter": 8.16, "pitch": 1.5, "crest_width": 0.2, "bore_diameter": 10.4},
    COACH | {"core_diameter": 2.0, "pitch": 7.0, "flank_half_angle": 8.0, "crest_width": 0.6, "bore_diameter": 6.5},
]
each_screw = pytest.mark.parametrize("screw", SCREWS, ids=["coach", "fine", "steep"])


def solve(**changes: float) -> Solution:
    """Solve the head for the coach screw with changes; values in the units shown to people."""
    quantities = whole_head().quantities
    return whole_head().solve({quantities[key]: quantities[key].si(value) for key, value in (COACH | changes).items()})


def shown(key: str, **changes: float) -> float:
    """One solved value in its shown unit (mm, mm2, mm3, degrees, per cent)."""
    quantity = whole_head().quantities[key]
    return float(quantity.shown(solve(**changes)[quantity]))


def outline(screw: dict[str, float]) -> np.ndarray:
    """Corners of the flight in the axial plane as (radius, height) in mm, drawn from its angles with a protractor."""
    core, tip = screw["core_diameter"] / 2, screw["major_diameter"] / 2
    rise = math.tan(math.radians(screw["flank_half_angle"])) * (tip - core)
    half = screw["crest_width"] / 2
    return np.array([(core, -half - rise), (tip, -half), (tip, half), (core, half + rise)])


# Gaps


def circle(diameter: float, shift: float, count: int = 4000) -> np.ndarray:
    angles = np.linspace(0, 2 * math.pi, count, endpoint=False)
    return np.stack([shift + diameter / 2 * np.cos(angles), diameter / 2 * np.sin(angles)])


def widest_gap(inner: np.ndarray, bore: float) -> float:
    """Largest distance from a point of a circle inside the bore to the bore's wall."""
    return float(np.max(bore / 2 - np.hypot(*inner)))


@pytest.mark.outside("screw.tip_gap", "screw.core_gap", by="distance of points of circles, NumPy")
@each_screw
def test_gaps_of_a_centred_screw_are_those_of_circles(screw: dict[str, float]) -> None:
    bore = screw["bore_diameter"]
    assert shown("tip_gap", **screw) == pytest.approx(widest_gap(circle(screw["major_diameter"], 0), bore), rel=1e-9)
    assert shown("core_gap", **screw) == pytest.approx(widest_gap(circle(screw["core_diameter"], 0), bore), rel=1e-9)


@pytest.mark.outside("screw.room_leaning", "screw.room_over_mesh", by="circles in contact, NumPy and scipy.optimize")
@each_screw
def test_room_of_a_leaning_screw_is_that_of_circles(screw: dict[str, float]) -> None:
    bore, tip = screw["bore_diameter"], screw["major_diameter"]

    def overlap(shift: float) -> float:
        return abs(float(np.min(bore / 2 - np.hypot(*circle(tip, shift)))))

    touching = minimize_scalar(overlap, bounds=(0, bore / 2), method="bounded", options={"xatol": 1e-10}).x
    room = widest_gap(circle(screw["core_diameter"], touching), bore)
    assert shown("room_leaning", **screw) == pytest.approx(room, rel=1e-5)
    assert shown("room_over_mesh", **screw) == pytest.approx(room / screw["sieve_mesh"], rel=1e-5)


# The space curve


def steepness(radius: float, pitch: float) -> float:
    """Angle in degrees of a helix to the plane across its axis, by small differences along the curve."""
    step = 1e-5
    one, other = (np.array([radius * math.cos(t), radius * math.sin(t), pitch * t / 2 / math.pi]) for t in (0, step))
    along = other - one
    return math.degrees(math.asin(along[2] / np.linalg.norm(along)))


@pytest.mark.outside(
    "screw.helix_angle_tip", "screw.helix_angle_mean", "screw.helix_angle_core",
    by="direction of the space curve by finite differences, NumPy",
)  # fmt: skip
@each_screw
def test_helix_angles_are_those_of_the_space_curve(screw: dict[str, float]) -> None:
    tip, core = screw["major_diameter"] / 2, screw["core_diameter"] / 2
    for key, radius in (("tip", tip), ("mean", (tip + core) / 2), ("core", core)):
        assert shown(f"helix_angle_{key}", **screw) == pytest.approx(steepness(radius, screw["pitch"]), rel=1e-7)


@pytest.mark.outside("screw.turn_length", "screw.helix_length", by="arc length, scipy.integrate.quad")
@each_screw
def test_lengths_are_those_of_the_space_curve(screw: dict[str, float]) -> None:
    radius, pitch = screw["major_diameter"] / 2, screw["pitch"]

    def speed(t: float) -> float:
        return math.hypot(-radius * math.sin(t), radius * math.cos(t), pitch / 2 / math.pi)

    turn = quad(speed, 0, 2 * math.pi)[0]
    turns = screw["flighted_length"] / pitch
    whole = quad(speed, 0, 2 * math.pi * turns, limit=500)[0]
    assert shown("turn_length", **screw) == pytest.approx(turn, rel=1e-10)
    assert shown("helix_length", **screw) == pytest.approx(whole, rel=1e-10)


def test_the_developed_length_of_a_round_screw() -> None:
    """100 mm across and 100 mm of pitch: 329.69 mm, also by the arc length integral."""
    assert shown("turn_length", major_diameter=100.0, pitch=100.0) == pytest.approx(329.6908, abs=5e-5)


# The flight's section


def shoelace(corners: np.ndarray) -> tuple[float, float]:
    """Area of a polygon and first coordinate of its centroid."""
    (x, y), (u, v) = corners.T, np.roll(corners, -1, axis=0).T
    cross = x * v - u * y
    return float(cross.sum() / 2), float(((x + u) * cross).sum() / (3 * cross.sum()))


@pytest.mark.outside(
    "screw.flight_section", "screw.flight_centroid", "screw.root_width", "screw.flight_depth",
    by="polygon of the outline, NumPy, and scipy.integrate.dblquad",
)  # fmt: skip
@each_screw
def test_section_and_centroid_are_those_of_the_outline(screw: dict[str, float]) -> None:
    corners = outline(screw)
    area, centroid = shoelace(corners)
    assert shown("flight_section", **screw) == pytest.approx(area, rel=1e-12)
    assert shown("flight_centroid", **screw) == pytest.approx(centroid, rel=1e-12)
    assert shown("root_width", **screw) == pytest.approx(corners[3, 1] - corners[0, 1], rel=1e-12)
    assert shown("flight_depth", **screw) == pytest.approx(corners[1, 0] - corners[0, 0], rel=1e-12)

    def half(r: float) -> float:
        return float(np.interp(r, corners[:2, 0], -corners[:2, 1]))

    area, moment = (
        dblquad(lambda _, r, power=power: r**power, *corners[:2, 0], lambda r: -half(r), half)[0] for power in (0, 1)
    )
    assert shown("flight_section", **screw) == pytest.approx(area, rel=1e-7)
    assert shown("flight_centroid", **screw) == pytest.approx(moment / area, rel=1e-7)


# Volumes


def meshed_volume(corners: np.ndarray, pitch: float, steps: int) -> float:
    """Volume of the outline swept over one turn, as signed tetrahedra under the triangles of its surface.

    The four corners of a patch do not lie in a plane: it is split into triangles both ways, and half of each counts.
    """
    angles = np.linspace(0, 2 * math.pi, steps + 1)[:, None]
    r, z = corners.T
    ring = np.stack([r * np.cos(angles), r * np.sin(angles), z + pitch * angles / 2 / math.pi], axis=-1)
    here, ahead = ring[:-1], ring[1:]
    beside, beyond = np.roll(here, -1, axis=1), np.roll(ahead, -1, axis=1)
    one_way = [(here, beside, beyond), (here, beyond, ahead)]
    other_way = [(here, beside, ahead), (beside, beyond, ahead)]
    patches = sum(tetrahedra(*triangle) for triangle in (*one_way, *other_way)) / 2
    first, last = ring[0], ring[-1]
    ends = tetrahedra(last[:1], last[1:-1], last[2:]) - tetrahedra(first[:1], first[1:-1], first[2:])
    return abs(patches + ends)


def tetrahedra(a: np.ndarray, b: np.ndarray, c: np.ndarray) -> float:
    """Sum of the signed volumes between triangles and the origin."""
    return float((np.cross(b, c) * a).sum() / 6)


@pytest.mark.outside("screw.flight_volume", by="signed tetrahedra of a mesh of the swept flight, NumPy")
@each_screw
def test_the_flight_volume_is_that_of_a_mesh(screw: dict[str, float]) -> None:
    corners = outline(screw)
    coarse, fine = (meshed_volume(corners, screw["pitch"], steps) for steps in (400, 800))
    # A polygon of n sides is short of a circle in proportion to 1/n2: what is left after that is far smaller.
    assert abs(fine - coarse) / fine < 1e-4
    assert shown("flight_volume", **screw) == pytest.approx(fine + (fine - coarse) / 3, rel=1e-7)


def test_the_mesh_finds_the_volume_of_a_known_solid() -> None:
    """A rectangle swept with any pitch is a ring of the same section: pi (8**2 - 5**2) 2 mm3."""
    rectangle = np.array([(5.0, -1.0), (8.0, -1.0), (8.0, 1.0), (5.0, 1.0)])
    coarse, fine = (meshed_volume(rectangle, 10.0, steps) for steps in (400, 800))
    assert fine + (fine - coarse) / 3 == pytest.approx(math.pi * 39 * 2, rel=1e-8)


def thrown(screw: dict[str, float], power: int = 17) -> dict[str, float]:
    """Room in mm3 over one turn, counted with points thrown evenly into a box around the bore."""
    core, tip, bore = (screw[key] / 2 for key in ("core_diameter", "major_diameter", "bore_diameter"))
    pitch = screw["pitch"]
    points = qmc.Sobol(3, seed=7).random_base2(power) * [2 * bore, 2 * bore, pitch] - [bore, bore, 0]
    radius, angle = np.hypot(points[:, 0], points[:, 1]), np.arctan2(points[:, 1], points[:, 0])
    # height over the middle of the flight at this angle, in the nearest turn
    above = (points[:, 2] - pitch * angle / 2 / math.pi + pitch / 2) % pitch - pitch / 2
    corners = outline(screw)
    width = np.interp(radius, corners[:2, 0], -corners[:2, 1])
    each = 4 * bore * bore * pitch / len(points)
    free = (radius < bore) & (radius > core) & ~((radius < tip) & (np.abs(above) < width))
    return {
        "net_volume": each * float(free.sum()),
        "channel_volume": each * float((free & (radius < tip)).sum()),
        "ring_volume": each * float((free & (radius > tip)).sum()),
    }


@pytest.mark.outside(
    "screw.net_volume", "screw.channel_volume", "screw.ring_volume", "screw.share_outside",
    by="points thrown into the bore, scipy.stats.qmc",
)  # fmt: skip
@each_screw
def test_room_is_that_of_points_thrown_into_the_bore(screw: dict[str, float]) -> None:
    found = thrown(screw)
    for key, volume in found.items():
        assert shown(key, **screw) == pytest.approx(volume, rel=2e-3), key
    share = 100 * found["ring_volume"] / found["net_volume"]
    assert shown("share_outside", **screw) == pytest.approx(share, rel=2e-3)


@pytest.mark.outside("screw.floor_width", by="points on the core counted along a line, NumPy")
@each_screw
def test_the_floor_is_what_a_line_along_the_core_finds_bare(screw: dict[str, float]) -> None:
    corners, pitch = outline(screw), screw["pitch"]
    heights = np.linspace(-pitch / 2, pitch / 2, 200_001)
    covered = (heights > corners[0, 1]) & (heights < corners[3, 1])
    assert shown("floor_width", **screw) == pytest.approx(pitch * (1 - covered.mean()), abs=pitch * 2e-5)


# Behaviour that geometry demands


@st.composite
def screws(draw: st.DrawFn) -> dict[str, float]:
    bore = draw(st.floats(3, 25))
    tip = draw(st.floats(0.5, 0.99)) * bore
    core = draw(st.floats(0.3, 0.95)) * tip
    return {
        "bore_diameter": bore,
        "major_diameter": tip,
        "core_diameter": core,
        "pitch": draw(st.floats(0.4, 12)),
        "flank_half_angle": draw(st.floats(2, 45)),
        "crest_width": draw(st.floats(0.02, 0.3)),
        "sieve_mesh": draw(st.floats(0.2, 8)),
        "flighted_length": draw(st.floats(10, 250)),
    }


def sound(screw: dict[str, float]) -> bool:
    return shown("floor_width", **screw) > 0


@given(screws())
def test_bounds(screw: dict[str, float]) -> None:
    assert 0 < shown("helix_angle_tip", **screw) < shown("helix_angle_mean", **screw)
    assert shown("helix_angle_mean", **screw) < shown("helix_angle_core", **screw) < 90
    middle = (screw["major_diameter"] + screw["core_diameter"]) / 4
    assert screw["core_diameter"] / 2 < shown("flight_centroid", **screw) < middle
    assert shown("room_leaning", **screw) == pytest.approx(
        screw["bore_diameter"] - (screw["major_diameter"] + screw["core_diameter"]) / 2
    )
    assert shown("turn_length", **screw) > math.pi * screw["major_diameter"]
    assume(sound(screw))
    assert 0 < shown("channel_volume", **screw) < shown("net_volume", **screw)
    assert 0 < shown("share_outside", **screw) < 100
    annulus = math.pi / 4 * (screw["bore_diameter"] ** 2 - screw["core_diameter"] ** 2) * screw["pitch"]
    assert shown("net_volume", **screw) + shown("flight_volume", **screw) == pytest.approx(annulus, rel=1e-9)


@pytest.mark.slow
@pytest.mark.parametrize(
    ("key", "moved", "sign"),
    [
        ("net_volume", "bore_diameter", 1),
        ("net_volume", "pitch", 1),
        ("net_volume", "core_diameter", -1),
        ("net_volume", "major_diameter", -1),
        ("net_volume", "crest_width", -1),
        ("net_volume", "flank_half_angle", -1),
        ("share_outside", "bore_diameter", 1),
        ("flight_volume", "major_diameter", 1),
        ("flight_centroid", "crest_width", 1),
        ("floor_width", "flank_half_angle", -1),
        ("helix_angle_mean", "pitch", 1),
        ("helix_angle_tip", "major_diameter", -1),
        ("helix_length", "pitch", -1),
        ("room_leaning", "core_diameter", -1),
        ("room_over_mesh", "sieve_mesh", -1),
    ],
)
@given(screw=screws(), more=st.floats(1.001, 1.2))
def test_monotone(key: str, moved: str, sign: int, screw: dict[str, float], more: float) -> None:
    larger = screw | {moved: screw[moved] * more}
    assume(larger["core_diameter"] < larger["major_diameter"] < larger["bore_diameter"])
    assume(sound(screw) and sound(larger))
    assert sign * (shown(key, **larger) - shown(key, **screw)) > 0


@given(screws(), st.floats(0.5, 3))
def test_a_model_of_another_scale_has_the_same_shape(screw: dict[str, float], scale: float) -> None:
    other = {key: value * (1 if key == "flank_half_angle" else scale) for key, value in screw.items()}
    for key, power in (("net_volume", 3), ("flight_section", 2), ("helix_length", 1), ("share_outside", 0)):
        assert shown(key, **other) == pytest.approx(scale**power * shown(key, **screw), rel=1e-9)


def test_limits() -> None:
    tight = COACH | {"bore_diameter": 6.0 + 1e-9}
    assert shown("share_outside", **tight) == pytest.approx(0, abs=1e-6)
    assert shown("room_leaning", **tight) == pytest.approx(shown("flight_depth", **tight), rel=1e-6)
    square = COACH | {"flank_half_angle": 0.0}
    assert shown("flight_centroid", **square) == pytest.approx((6 + 4.2) / 4)
    assert shown("flight_volume", **square) == pytest.approx(math.pi / 4 * (6**2 - 4.2**2) * 0.15)


# What the chapter says to a builder


def test_flanks_that_meet_are_told() -> None:
    crowded = solve(flank_half_angle=60.0)
    assert crowded[whole_head().quantities["floor_width"]] < 0
    told = {str(w).partition(":")[0] for w in crowded.warnings}
    assert {"screw.floor_width", "screw.flight_volume", "screw.channel_volume"} <= told
    assert any("enlarge the pitch or lower the flank angle" in str(w) for w in crowded.warnings)
    assert not [w for w in solve().warnings if str(w).startswith("screw.")]


@pytest.mark.parametrize("name", shipped_builds())
def test_a_shipped_screw_is_sound_and_most_of_its_room_lies_outside_the_flights(name: str) -> None:
    solution = shipped_build(name).solution
    share = solution[whole_head().quantities["share_outside"]]
    assert 0.3 < share < 0.8
    assert solution[whole_head().quantities["floor_width"]] > 0


def test_every_screw_of_the_table_is_sound() -> None:
    table = read_table("screws")
    for row in table.rows.values():
        keys = ("major_diameter", "core_diameter", "pitch", "crest_width")
        screw = COACH | {key: row.si(key) * 1e3 for key in keys}
        screw |= {"flank_half_angle": math.degrees(row.si("flank_half_angle"))}
        screw |= {"bore_diameter": screw["major_diameter"] * 1.2}
        assert sound(screw), row.name


@pytest.mark.parametrize("share", [0.1, 0.15, 0.2])
def test_the_rule_of_thumb_holds_for_every_screw_of_the_tables(share: float) -> None:
    """Room per turn over an empty bore one pitch long, and the share of it that lies outside the flights."""
    quantities, lookup = whole_head().quantities, whole_head().lookups["standard_screw"]
    for name in read_table("screws").rows:
        build = shipped_build("otter").with_name(lookup, name)
        build = build.with_value(
            quantities["bore_diameter"], (1 + 2 * share) * build.values[quantities["major_diameter"]]
        )
        room, bore, pitch, outside = (
            build.solution[quantities[k]] for k in ("net_volume", "bore_diameter", "pitch", "share_outside")
        )
        assert 0.4 < room / (math.pi / 4 * bore**2 * pitch) < 0.7
        assert 0.5 < outside < 0.85
