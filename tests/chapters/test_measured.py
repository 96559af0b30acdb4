"""Pictures measured: what is drawn is as long as the quantities say, and curves are what the network gives there."""

import math
import re
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from augerbook.builds.build import Build
from augerbook.chapters import whole_head
from augerbook.chapters.conveying.graphs import GripGraphs
from augerbook.chapters.drive.figures import draw_warming
from augerbook.chapters.drive.graphs import TorqueGraphs
from augerbook.chapters.feedstock.graphs import DryingGraph
from augerbook.chapters.heat.budget import FLOW, PAUSE
from augerbook.chapters.hopper.graphs import SettlingGraphs
from augerbook.chapters.pictures import all_pictures
from augerbook.chapters.plate.graphs import stiffness_and_mass
from augerbook.chapters.pumping.graphs import PumpGraphs
from augerbook.chapters.retraction.graphs import StiffnessGraphs
from augerbook.chapters.ringing.graphs import plate_between_both, ringing_over_rail, waves_over_speed
from augerbook.chapters.ripple.picture import draw_evening
from augerbook.draw.live_plot import LivePlot
from augerbook.draw.picture import Picture
from augerbook.draw.scene import Scene
from augerbook.draw.scene_layout import Outline, Text

from tests.chapters.solving import changed

Floats = np.ndarray[Any, np.dtype[np.float64]]
Q = whole_head().quantities
PICTURES = {picture.title: picture for picture in all_pictures()}


#: Both shipped builds, and one with every size that pictures show moved away from any shipped one.
BUILDS = {
    "otter": changed("otter"),
    "wren": changed("wren"),
    "other": changed(
        "otter", bore_diameter=9.1, major_diameter=7.3, core_diameter=4.7, pitch=3.3, crest_width=0.23, slot_width=10.5,
        outlet_diameter=13.0, plate_thickness=3.7, plate_span=71.0, rail_height=93.0, bearing_width=7.2,
        bearing_bore=8.4, bearing_outside_diameter=22.6, flighted_length=91.0, land_length=1.7, melt_bore_length=8.3,
        flake_thickness=0.9,
    ),
}  # fmt: skip
each_build = pytest.mark.parametrize("build", BUILDS.values(), ids=BUILDS)


def number_of(text: str) -> tuple[float, float]:
    """The number in front of a unit of length, and half of its last digit."""
    found = re.search(r"(?<![\d.])(\d+(?:\.\d+)?) mm", text)
    assert found, text
    decimals = len(found[1].partition(".")[2])
    return float(found[1]), 0.5 * 10.0**-decimals


def drawn(build: Build, picture: Picture, variant: str, monkeypatch: pytest.MonkeyPatch) -> tuple[Scene, list[Any]]:
    """A scene, and each of its dimensions: points in the scene's unit and text."""
    noted: list[Any] = []
    draw = Scene.dimension

    def note(scene: Scene, p: Any, q: Any, text: str | None = None, *more: Any, **others: Any) -> Scene:
        before = len(scene._shapes)
        draw(scene, p, q, text, *more, **others)
        texts = [shape.text for shape in scene._shapes[before:] if isinstance(shape, Text)]
        noted.append((np.asarray(p, dtype=float), np.asarray(q, dtype=float), " ".join(texts)))
        return scene

    monkeypatch.setattr(Scene, "dimension", note)
    scene = picture.scene(build.solution, variant)
    monkeypatch.undo()
    assert isinstance(scene, Scene)
    return scene, noted


def scene_of(build: Build, title: str, variant: str = "") -> Scene:
    scene = PICTURES[title].scene(build.solution, variant)
    assert isinstance(scene, Scene)
    return scene


def outlines(scene: Scene, style: str) -> list[Floats]:
    """The corners of all outlines of one style, in the scene's unit."""
    shapes = (shape for shape in scene._shapes if isinstance(shape, Outline) and shape.style == style)
    return [(shape.points - scene._shift) / scene._stretch for shape in shapes]


def box(corners: Floats) -> tuple[float, float, float, float]:
    """Left, right, bottom, top."""
    left, bottom = np.nanmin(corners, axis=0)
    right, top = np.nanmax(corners, axis=0)
    return left, right, bottom, top


# --- dimensions


#: Where a millimetre is drawn as a millimetre; elsewhere a picture has a scale of its own.
TO_SCALE = {
    "The screw in its bore", "Water in a grain", "Grains between screw and wall", "From the hopper into the flights",
    "The bearing on its plate", "The load path from nozzle to plate", "From the motor to the screw",
    "The two ends of a line", "The head on its carriage",
}  # fmt: skip
SCENES = [
    (title, variant)
    for title, picture in PICTURES.items()
    for variant in picture.variants or ("",)
    if isinstance(picture.scene(BUILDS["otter"].solution, variant), Scene)
]


@each_build
@pytest.mark.parametrize(("title", "variant"), SCENES)
def test_a_dimension_is_as_long_as_its_text_says(
    build: Build, title: str, variant: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """All of one picture and direction have one scale: that of the picture, or 1 where it is drawn to scale."""
    _, noted = drawn(build, PICTURES[title], variant, monkeypatch)
    scales: dict[bool, tuple[float, float]] = {}
    for p, q, text in noted:
        if not re.search(r"\d mm\b", text):
            continue
        length, (says, half_a_digit) = float(np.hypot(*(q - p))), number_of(text)
        times = re.search(r"drawn (\d+) times larger", text)
        says, half_a_digit = (value * (int(times[1]) if times else 1) for value in (says, half_a_digit))
        lies = abs(q[0] - p[0]) > abs(q[1] - p[1])
        if title in TO_SCALE:
            assert length == pytest.approx(says, abs=half_a_digit), text
        low, high = scales.get(lies, (0.0, math.inf))
        scales[lies] = max(low, length / (says + half_a_digit)), min(high, length / max(says - half_a_digit, 1e-9))
        assert scales[lies][0] <= scales[lies][1] * (1 + 1e-9), f"{text}: drawn to another scale than its neighbours"


NAMED = {
    ("The screw in its bore", "centred"): {
        "over core": "core_gap", "over tip": "tip_gap", "pitch": "pitch", "core": "core_diameter",
    },
    ("The screw in its bore", "leaning on the wall"): {"over core": "room_leaning", "pitch": "pitch"},
    ("From the hopper into the flights", ""): {"opening": "inlet_length", "outlet": "outlet_diameter"},
    ("Temperatures along the head", "while it prints"): {
        "plastic soft": "softened_length", "screw soft": "screw_soft_length",
    },
    ("Temperatures along the head", "after a long pause"): {
        "plastic soft": "pause_softened_length", "screw soft": "pause_screw_soft_length",
    },
    ("Pressure along the nozzle", ""): {"bore": "melt_bore_length", "land": "land_length"},
    ("Melt between wall and screw", "nozzle closed"): {"over core": "core_gap"},
    ("The thread unrolled", ""): {"pitch": "pitch"},
    ("What holds the nozzle", ""): {"engaged": "nozzle_thread_length"},
    ("Turns and the line", ""): {"one turn:": "turn_line"},
    ("The two ends of a line", ""): {"too thin for": "start_length", "runs on for": "stop_length"},
    ("How far the melt goes back in the nozzle", ""): {"land": "land_length"},
    ("The head on its carriage", "at rest"): {"rail": "rail_height"},
    ("The head on its carriage", "slower way of ringing"): {"rail": "rail_height"},
    ("The wave on the wall", ""): {"wave": "wall_wave"},
}  # fmt: skip


@each_build
@pytest.mark.parametrize(
    ("place", "named"), NAMED.items(), ids=lambda item: "-".join(item) if isinstance(item, tuple) else ""
)
def test_a_dimension_names_the_quantity_it_shows(
    build: Build, place: tuple[str, str], named: dict[str, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    _, noted = drawn(build, PICTURES[place[0]], place[1], monkeypatch)
    for words, key in named.items():
        (text,) = (text for _, _, text in noted if re.match(rf"{re.escape(words)} \d", text))
        says, half_a_digit = number_of(text)
        assert says == pytest.approx(build.solution.shown(Q[key]), abs=half_a_digit), text


# --- bodies


@each_build
@pytest.mark.parametrize("title", ["The screw in its bore", "Grains between screw and wall"])
def test_screw_and_bore_have_their_diameters_and_the_thread_its_pitch(build: Build, title: str) -> None:
    size = {key: build.solution.shown(Q[key]) for key in ("bore_diameter", "major_diameter", "core_diameter", "pitch")}
    scene = scene_of(build, title, "centred")
    (screw,) = outlines(scene, "screw")
    assert box(screw)[2:] == pytest.approx((-size["major_diameter"] / 2, size["major_diameter"] / 2))
    edges = sorted(edge for wall in outlines(scene, "wall") for edge in box(wall)[2:])
    assert edges[1:3] == pytest.approx([-size["bore_diameter"] / 2, size["bore_diameter"] / 2])
    upper = screw[screw[:, 1] > 0]
    assert upper[:, 1].min() == pytest.approx(size["core_diameter"] / 2)
    crests = np.sort(upper[np.isclose(upper[:, 1], size["major_diameter"] / 2), 0])
    starts = crests[np.concatenate([[True], np.diff(crests) > 0.5 * size["pitch"]])]
    assert np.diff(starts)[1:-1] == pytest.approx(size["pitch"])


@each_build
def test_the_hopper_stands_on_a_screw_in_its_bore(build: Build) -> None:
    scene = scene_of(build, "From the hopper into the flights")
    screw = outlines(scene, "screw")[0]
    half = build.solution.shown(Q["major_diameter"]) / 2
    assert box(screw)[:2] == pytest.approx((-half, half))
    inner = [edge for wall in outlines(scene, "wall") for edge in box(wall)[:2]]
    assert min(abs(np.array(inner) - build.solution.shown(Q["bore_diameter"]) / 2)) < 1e-9


#: Not to scale, but in proportion: how far the screw reaches from its axis over how far the bore does.
IN_PROPORTION = [
    "The plug and a slice of it",
    "Two ways back for the air",
    "Temperatures along the head",
    "Pressure along the screw",
    "What presses on the bearing",
]


@each_build
@pytest.mark.parametrize("title", IN_PROPORTION)
def test_screw_and_bore_are_in_proportion(build: Build, title: str) -> None:
    scene = scene_of(build, title)
    screw = max(outlines(scene, "screw"), key=lambda corners: box(corners)[1] - box(corners)[0])
    middle, reach = (box(screw)[3] + box(screw)[2]) / 2, (box(screw)[3] - box(screw)[2]) / 2
    walls = outlines(scene, "wall")
    if len(walls) == 1:  # one outline with a hole or none: the plastic fills the bore
        walls = []
    inner = [abs(edge - middle) for wall in walls for edge in box(wall)[2:] if abs(edge - middle) > 0.5 * reach]
    if not inner:
        inner = [abs(edge - middle) for corners in outlines(scene, "melt") for edge in box(corners)[2:]]
        inner = [edge for edge in inner if edge >= 0.99 * reach]
    expected = build.solution[Q["major_diameter"]] / build.solution[Q["bore_diameter"]]
    assert reach / min(inner) == pytest.approx(expected, rel=1e-6)


@each_build
def test_bearing_and_plate_have_their_sizes(build: Build) -> None:
    size = {
        key: build.solution.shown(Q[key])
        for key in ("bearing_bore", "bearing_outside_diameter", "bearing_width", "plate_thickness")
    }
    for title in ("The bearing on its plate", "The load path from nozzle to plate"):
        scene = scene_of(build, title)
        rings = outlines(scene, "bearing")
        above = [box(ring) for ring in rings if box(ring)[2] > 0]
        assert min(b[2] for b in above) == pytest.approx(size["bearing_bore"] / 2)
        assert max(b[3] for b in above) == pytest.approx(size["bearing_outside_diameter"] / 2)
        assert max(b[1] for b in above) - min(b[0] for b in above) == pytest.approx(size["bearing_width"])
    bent = outlines(scene_of(build, "The load path from nozzle to plate"), "plate")[0]
    half = len(bent) // 2
    assert bent[:half, 0] - bent[half:, 0][::-1] == pytest.approx(size["plate_thickness"])
    assert bent[half - 2, 1] == pytest.approx(build.solution.shown(Q["plate_span"]) / 2)


@each_build
def test_arrows_of_thrust_are_as_long_as_the_forces(build: Build) -> None:
    keys = ("pressure_thrust", "running_thrust", "running_thrust_bound", "stall_thrust", "frictionless_thrust")
    forces = np.array([build.solution[Q[key]] for key in keys])
    scene = scene_of(build, "What presses on the bearing")
    tails = {round(box(shaft)[3], 3): box(shaft)[1] for shaft in outlines(scene, "force")}
    tips = {round((box(tip)[2] + box(tip)[3]) / 2, 3): box(tip)[0] for tip in outlines(scene, "force_head")}
    rows = sorted((y for y in tips if y < 250), reverse=True)
    lengths = np.array([tails[y] - tips[y] for y in rows])
    assert lengths / lengths.max() == pytest.approx(forces[np.isfinite(forces)] / np.nanmax(forces), rel=1e-6)


@pytest.mark.parametrize("state", [FLOW, PAUSE])
@each_build
def test_streams_of_heat_are_as_wide_as_their_watts(build: Build, state: str) -> None:
    """Where they begin, where they meet the head, and together on both sides: what comes in goes out."""
    at = build.solution
    paused = "" if state == FLOW else "pause_"
    works = [] if state == PAUSE else [at[Q["friction_heat"]]]
    takes = [abs(at[Q[f"{paused}{key}"]]) for key in ("cooled_heat", "carried_heat", "shank_heat")]
    watts = np.array([at[Q[f"{paused}heater_power"]], *works, at[Q["block_air_heat"]], *takes])
    scene = scene_of(build, "Where the heat goes", state)
    widths = []
    for style in ("hot", "screw", "void", "wall", "melt", "metal"):
        for stream in outlines(scene, style):
            half = len(stream) // 2
            edges = stream[:half, 1] - stream[half:, 1][::-1]
            assert edges == pytest.approx(edges[0])
            widths.append(edges[0])
    assert np.array(widths) / widths[0] == pytest.approx(watts / watts[0], rel=1e-6)
    (head,) = outlines(scene, "plate")
    assert np.ptp(head[:, 1]) == pytest.approx(sum(widths) / 2, rel=1e-3)


@each_build
def test_a_line_from_above_is_as_wide_as_its_flow_makes_it(build: Build) -> None:
    scene = scene_of(build, "The two ends of a line")
    upper, lower, *_ = outlines(scene, "melt")
    wide = build.solution.shown(Q["line_width"])
    assert np.ptp(lower[:, 1]) == pytest.approx(wide, rel=0.02)
    half = len(upper) // 2
    place, width = upper[:half, 0], 2 * upper[:half, 1]
    assert width.max() == pytest.approx(wide, rel=0.02)
    thread = build.solution.shown(Q["layer_height"])
    section = build.solution.shown(Q["line_section"])
    ends, begins = (build.solution.shown(Q[key]) for key in ("stop_length", "start_length"))
    stop = box(lower)[1]

    def wide_at(share: float) -> float:
        if share * section < math.pi / 4 * thread**2:
            return math.sqrt(4 * share * section / math.pi)
        return share * section / thread + (1 - math.pi / 4) * thread

    # The lower one begins with the pressure that lacks what came out as the knob.
    knob, flow, hot, stored, exponent = (
        build.solution[Q[key]] for key in ("end_knob", "wanted_flow", "melt_flow", "stored_volume", "local_exponent")
    )
    start = (1 - knob * hot / flow / stored) ** (1 / exponent)
    again = 2 * (lower[: len(lower) // 2, 1] - np.mean(box(lower)[2:]))
    assert again[0] == pytest.approx(wide_at(start), rel=0.01)
    assert (np.diff(again) > -1e-9).all()

    assert np.interp(begins, place, width) == pytest.approx(wide_at(0.9), rel=0.01)
    assert np.interp(stop + ends, place, width) == pytest.approx(wide_at(0.1), rel=0.01)


@each_build
def test_bars_of_what_is_stored_have_one_scale(build: Build) -> None:
    scene = scene_of(build, "What is stored, and what is taken back")
    at = build.solution
    each = {"melt": "melt_springback", "soft": "soft_stored", "screw": "sprung_volume"}
    ((left, right, *_),) = (box(o) for o in outlines(scene, "solid_ink"))
    scale = (right - left) / at[Q["screw_takeback"]]
    for style, key in each.items():
        bar = box(max(outlines(scene, style), key=lambda o: box(o)[2]))
        assert (bar[1] - bar[0]) / scale == pytest.approx(at[Q[key]], rel=1e-6), style


@each_build
def test_the_nozzle_is_empty_as_far_as_the_melt_goes_back(build: Build) -> None:
    scene = scene_of(build, "How far the melt goes back in the nozzle")
    (whole,), (melt,) = outlines(scene, "void"), outlines(scene, "melt")
    long = build.solution.shown(Q["land_length"])
    narrow = np.unique(np.round(whole[np.isclose(whole[:, 1], whole[:, 1][whole[:, 0].argmax()]), 0], 6))
    scale = np.ptp(narrow) / long
    gone = (box(whole)[1] - box(melt)[1]) / scale
    section = math.pi / 4 * build.solution.shown(Q["nozzle_diameter"]) ** 2
    assert gone * section == pytest.approx(build.solution.shown(Q["drawn_in"]), abs=1e-6)


# --- curves

Value = Callable[[Build], float]


def shows(key: str) -> Value:
    return lambda build: build.solution.shown(Q[key])


def over_rigid(key: str) -> Value:
    return lambda build: 100 * build.solution[Q[key]] * build.solution[Q["chain_compliance"]]


def in_pascals(key: str) -> Value:
    return lambda build: build.solution[Q[key]]


def settling(build: Build) -> LivePlot:
    return SettlingGraphs(build.solution)(build.solution)


def drying(build: Build) -> LivePlot:
    return DryingGraph(build.solution)(build.solution)


def plate(build: Build) -> LivePlot:
    return stiffness_and_mass(build.solution)(build.solution)


def grip(build: Build) -> LivePlot:
    return GripGraphs(build.solution)(build.solution)


def evening(build: Build) -> LivePlot:
    return draw_evening(build.solution)


def torque(build: Build) -> LivePlot:
    return TorqueGraphs(build.solution)(build.solution)


def warming(build: Build) -> LivePlot:
    return draw_warming([("head", build.solution)])


def stiffness(build: Build) -> LivePlot:
    return StiffnessGraphs(build.solution)(build.solution)


def speed_of_waves(build: Build) -> LivePlot:
    return waves_over_speed(build.solution)(build.solution)


def rail(build: Build) -> LivePlot:
    return ringing_over_rail(build.solution)(build.solution)


def both_ends(build: Build) -> LivePlot:
    return plate_between_both(build.solution)(build.solution)


def in_unit(unit: float) -> Callable[[float], float]:
    return lambda shown: unit * shown


def ball(diameter: float) -> float:
    """Volume of a ball, from its diameter in mm."""
    return math.pi / 6 * (1e-3 * diameter) ** 3


def with_two_ribs(key: str) -> Value:
    """A result of a plate with two ribs as wide as it is thick and four times as high, by the parallel axis theorem."""

    def of(build: Build) -> float:
        thick = build.solution.shown(Q["plate_thickness"])
        wide = build.solution.shown(Q["plate_width" if Q["plate_width"] in build.values else "plate_span"])
        plain, rib, flat = wide * thick, 4 * thick**2, wide * thick**3 / 12
        middle = (plain * thick / 2 + 2 * rib * 3 * thick) / (plain + 2 * rib)
        moment = flat + plain * (middle - thick / 2) ** 2
        moment += 2 * (thick * (4 * thick) ** 3 / 12 + rib * (3 * thick - middle) ** 2)
        values = dict(build.values)
        values[Q["plate_youngs_modulus"]] *= moment / flat
        values[Q["plate_density"]] *= (plain + 2 * rib) / plain
        return build.network.solve(values, build.choices).shown(Q[key])

    return of


#: Graph, curve, what lies along its axis, from there to SI, and what the curve shows.
CURVES: list[tuple[Callable[[Build], LivePlot], str, str, Callable[[float], float], Value]] = [
    (settling, "janssen", "fill_height", in_unit(1e-3), in_pascals("hopper_pressure")),
    (settling, "still", "time_since_filling", in_unit(60.0), shows("drift_still")),
    (drying, "now", "drying_time", in_unit(3600.0), shows("moisture_dried")),
    (plate, "plate", "plate_thickness", in_unit(1e-3), over_rigid("plate_stiffness")),
    (plate, "head", "plate_thickness", in_unit(1e-3), over_rigid("head_stiffness")),
    (plate, "melt_here", "plate_thickness", in_unit(1e-3), over_rigid("even_head_stiffness")),
    (grip, "largest", "friction_barrel", in_unit(1.0), shows("grip_exponent")),
    (grip, "state", "friction_barrel", in_unit(1.0), shows("conveying_efficiency")),
    (torque, "geared", "gear_ratio", in_unit(1.0), shows("available_torque")),
    (warming, "head_winding", "set_current", in_unit(1.0), shows("winding_temperature")),
    (warming, "head_case", "set_current", in_unit(1.0), shows("case_temperature")),
    (stiffness, "stiff", "head_stiffness", in_unit(1e6), shows("stored_volume")),
    (stiffness, "thick", "plate_thickness", in_unit(1e-3), shows("stored_volume")),
    (evening, "sizes", "grain_volume_ratio", ball, shows("ripple")),
    (speed_of_waves, "acceleration", "line_speed", in_unit(1e-3), shows("acceleration_wave")),
    (speed_of_waves, "speed", "line_speed", in_unit(1e-3), shows("speed_wave")),
    (speed_of_waves, "least", "line_speed", in_unit(1e-3), shows("wave_height")),
    (rail, "slide", "rail_height", in_unit(1e-3), shows("slide_frequency")),
    (rail, "lower", "rail_height", in_unit(1e-3), shows("lower_frequency")),
    (rail, "bound", "rail_height", in_unit(1e-3), shows("dunkerley_frequency")),
    (rail, "safe", "rail_height", in_unit(1e-3), shows("highest_acceleration")),
    (both_ends, "blob", "plate_thickness", in_unit(1e-3), shows("springback_over_retraction")),
    (both_ends, "safe", "plate_thickness", in_unit(1e-3), shows("highest_acceleration")),
    (both_ends, "blob_ribs", "plate_thickness", in_unit(1e-3), with_two_ribs("springback_over_retraction")),
    (both_ends, "safe_ribs", "plate_thickness", in_unit(1e-3), with_two_ribs("highest_acceleration")),
]


@pytest.fixture
def curves(monkeypatch: pytest.MonkeyPatch) -> dict[str, Any]:
    """What graphs drawn from now on are given as curves, by name."""
    seen: dict[str, Any] = {}
    update = LivePlot.update

    def note(plot: LivePlot, *, curves: Any = None, **others: Any) -> Any:
        seen.update(curves or {})
        return update(plot, curves=curves, **others)

    monkeypatch.setattr(LivePlot, "update", note)
    return seen


@pytest.mark.parametrize("name", ["otter", "wren"])
@pytest.mark.parametrize(("graph", "curve", "key", "si", "value"), CURVES, ids=[curve for _, curve, *_ in CURVES])
def test_a_curve_is_what_the_network_gives_there(
    graph: Callable[[Build], LivePlot], curve: str, key: str, si: Callable[[float], float], value: Value, name: str,
    curves: dict[str, Any],
) -> None:  # fmt: skip
    build = BUILDS[name]
    graph(build)
    x, y = (np.asarray(column, dtype=float) for column in curves[curve])
    compared = 0
    for place in (len(x) // 7, len(x) // 3, len(x) // 2, (4 * len(x)) // 5):
        there, low, high = si(x[place]), Q[key].low, Q[key].high
        if low is not None and high is not None and not low <= Q[key].shown(there) <= high:
            continue
        assert y[place] == pytest.approx(value(build.with_value(Q[key], float(there))), rel=1e-6, nan_ok=True)
        compared += 1
    assert compared >= 2


def test_ribs_hold_otters_plate_as_still_at_less_than_half_its_mass(curves: dict[str, Any]) -> None:
    """As chapter 17 says: 1.8 mm with ribs for 5 mm, and 17 g for 38."""
    build = BUILDS["otter"]
    both_ends(build)
    thickness, blob = curves["blob_ribs"]
    thin = float(thickness[np.argmax(blob <= build.solution.shown(Q["springback_over_retraction"]))])
    assert 1.65 < thin <= 1.85
    grams = build.solution.shown(Q["plate_mass"])
    assert grams == pytest.approx(38, abs=0.5)
    assert grams * thin / 5 * (60 + 8 * thin) / 60 == pytest.approx(17, abs=1)


@pytest.mark.parametrize("name", ["otter", "wren"])
def test_stiffness_over_the_gap_is_what_the_network_gives_there(name: str, curves: dict[str, Any]) -> None:
    build = BUILDS[name]
    PumpGraphs(build.solution)(build.solution)
    gaps, wide = curves["wide"]
    for place in (5, 20):
        wider = build.with_value(Q["bore_diameter"], float(build.solution[Q["major_diameter"]] + 2e-3 * gaps[place]))
        assert wide[place] == pytest.approx(wider.solution[Q["pump_stiffness"]], rel=1e-6)
        assert curves["leaking"][1][place] == pytest.approx(wider.solution[Q["channel_stiffness"]], rel=1e-6)
