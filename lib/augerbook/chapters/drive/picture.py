"""Pictures of the drive: motor, gear and screw with their torques, and where the motor's heat goes."""

from __future__ import annotations

import math

import numpy as np

from augerbook.chapters.drive import (
    SUBJECT,
    available_torque,
    case_air_heat,
    case_gear_heat,
    case_temperature,
    core_stall_torque,
    core_stress_share,
    drive_share,
    gear_loss,
    gear_plate_heat,
    gear_temperature,
    gear_torque_share,
    motor_loss,
    motor_speed,
    motor_stall_torque,
    pull_out_torque,
    setscrew_share,
    setscrew_torque,
    winding_temperature,
)
from augerbook.chapters.drive.graphs import TorqueGraphs
from augerbook.chapters.operating import needed_torque, operating_speed
from augerbook.chapters.screw import root_width
from augerbook.chapters.screw.picture import screw_outline
from augerbook.core.network import Solution
from augerbook.core.quantity import Quantity
from augerbook.draw.live_plot import LivePlot
from augerbook.draw.picture import Picture
from augerbook.draw.scene import Scene
from augerbook.head.drive import (
    coupled_diameter,
    gear_permissible_torque,
    gear_ratio,
    motor_length,
    motor_side,
    set_current,
)
from augerbook.head.heating import room_temperature
from augerbook.head.screw import core_diameter, crest_width, major_diameter, pitch

#: The gear and the coupling stand for any: only motor and screw have sizes of their own.
_GEAR_LONG, _COUPLING_LONG, _TURNS = 0.8, 2.5, 5.0


def draw_path(solution: Solution) -> Scene:
    """Draw motor, gear, coupling and screw to scale, with the torque at each and what each bears."""
    mm = {
        q: solution.shown(q)
        for q in (motor_side, motor_length, major_diameter, core_diameter, pitch, crest_width, root_width,
                  coupled_diameter)
    }  # fmt: skip
    side, long, shaft = mm[motor_side], mm[motor_length], mm[coupled_diameter]
    gear, coupling = _GEAR_LONG * side, _COUPLING_LONG * shaft
    flights = _TURNS * mm[pitch]
    ends = np.cumsum([0.0, long, gear, 0.5 * coupling, coupling, 0.6 * coupling, flights])
    left, right = 0.14 * float(ends[-1]), 0.06 * float(ends[-1])
    width = float(ends[-1]) + left + right
    scene = Scene(
        width=width,
        height=side + 0.26 * width,
        origin=(-left, -0.5 * side - 0.185 * width),
        title="From the motor to the screw",
        alt=_path_in_words(solution),
    )
    px = scene.px
    half = side / 2
    scene.rectangle((0, -half), long, side, "metal")
    scene.rectangle((ends[1], -0.46 * side), gear, 0.92 * side, "bearing")
    scene.rectangle((ends[2], -shaft / 2), float(ends[4] - ends[2]), shaft, "screw")
    scene.rectangle((ends[3], -shaft), coupling, 2 * shaft, "wall")
    scene.rectangle((ends[4], -mm[core_diameter] / 2), float(ends[5] - ends[4]) + px, mm[core_diameter], "screw")
    profile = (mm[core_diameter] / 2, mm[major_diameter] / 2, mm[pitch], mm[crest_width], mm[root_width])
    scene.polygon(screw_outline(*profile, float(ends[5]), float(ends[6])), "screw")
    scene.line((-0.5 * left, 0), (float(ends[6]) + 0.5 * right, 0), "centre")
    scene.dimension((0, half + 18 * px), (long, half + 18 * px), f"motor {long:.3g} mm")
    scene.dimension((-16 * px, -half), (-16 * px, half), f"{side:.3g} mm", text_at="left")
    works = math.isfinite(solution[operating_speed])
    told = (
        (0.5 * ends[1], "motor", f"pull-out {solution.text(pull_out_torque)}\nat {solution.text(motor_speed)}"
         if works else f"at {solution.text(set_current)}"),
        (0.5 * (ends[1] + ends[2]), f"gear, {solution.text(gear_ratio)} to 1",
         f"permitted {solution.text(gear_permissible_torque)}"),
        (0.5 * (ends[3] + ends[4]), "coupling", f"slips at\n{solution.text(setscrew_torque)}"),
        (0.5 * (ends[5] + ends[6]), "screw", f"core yields at\n{solution.text(core_stall_torque)}"),
    )  # fmt: skip
    low = -half - 26 * px
    for row, (x, words, value) in enumerate(told):
        y = low - (row % 2) * 62 * px
        scene.line((float(x), y + 10 * px), (float(x), -0.2 * shaft), "thin")
        scene.label((float(x), y), words, style="strong")
        scene.label((float(x), y - (18 + 8 * value.count("\n")) * px), value, style="small")
    asks = f"the screw needs {solution.text(needed_torque)}" if works else "no operating point"
    x, y = float(ends[2]) + 6 * px, half - 4 * px
    scene.label((x, y), f"at work: {asks}", anchor="start", style="force")
    if works:
        scene.label((x, y - 20 * px), f"there are {solution.text(available_torque)}", anchor="start", style="force")
    scene.label((x, y - 42 * px), f"stalled: {solution.text(motor_stall_torque)} behind the gear", anchor="start",
                style="small")  # fmt: skip
    return scene


def _path_in_words(solution: Solution) -> str:
    works = math.isfinite(solution[operating_speed])
    at_work = (
        f"At work motor and gear bring {solution.text(available_torque)}, the screw needs "
        f"{solution.text(needed_torque)}, a share of {solution.text(drive_share)}"
        if works
        else "The screw has no operating point"
    )
    each = ", ".join(
        f"{part} {solution.text(q)}"
        for part, q in (("gear", gear_torque_share), ("set screws", setscrew_share), ("core", core_stress_share))
    )
    return (
        f"Motor, gear, coupling and screw along one axis, motor and screw to scale. {at_work}. Stalled, "
        f"{solution.text(motor_stall_torque)} act on all that lies behind the gear; shares of what each bears: {each}."
    )


_WIDTH, _HEIGHT = 800.0, 340.0
#: The room's line, the top of the hottest thing, and half the width of each.
_FLOOR, _CEILING, _HALF = 84.0, 262.0, 54.0
_PLACES: tuple[tuple[str, Quantity, float, str], ...] = (
    ("winding", winding_temperature, 110.0, "hot"),
    ("case", case_temperature, 320.0, "metal"),
    ("gear and bearing", gear_temperature, 560.0, "bearing"),
)


def draw_heat(solution: Solution) -> Scene:
    """Draw winding, case and gear as high as they are warmer than the room, and the heat between them in watts."""
    cool = solution.shown(room_temperature)
    listed = ", ".join(f"{words} {solution.text(q)}" for words, q, *_ in _PLACES)
    told = (
        f"{listed}; {solution.text(motor_loss)} of heat in the winding and {solution.text(gear_loss)} in the gear "
        f"leave by the case's air ({solution.text(case_air_heat)}) and by the plate "
        f"({solution.text(gear_plate_heat)})"
    )
    scene = Scene(
        width=_WIDTH, height=_HEIGHT, title="Where the motor's heat goes",
        alt=f"Winding, case and gear, each as high as it is warmer than the room. {told}.",
    )  # fmt: skip
    margin = next(m for m in SUBJECT.margins if m.quantity is case_temperature)
    warm = [solution.shown(q) for _, q, *_ in _PLACES]
    known = all(math.isfinite(t) for t in warm)
    highest = max(*(t for t in warm if math.isfinite(t)), margin.limit) if known else margin.limit
    scale = (_CEILING - _FLOOR) / max(highest - cool, 10.0)

    def height(celsius: float) -> float:
        return _FLOOR + scale * (celsius - cool)

    case = _PLACES[1][2]
    for at, words in ((margin.good, "good for the case"), (margin.limit, "limit of the case")):
        if at > cool:
            scene.line((case + _HALF + 4, height(at)), (case + _HALF + 40, height(at)), "hidden")
            scene.label((case + _HALF + 46, height(at)), f"{words}: {at:g} °C", anchor="start", style="note")
    scene.line((40, _FLOOR), (760, _FLOOR), "thin")
    scene.label((760, _FLOOR - 14), f"room {solution.text(room_temperature)}", anchor="end", style="note")
    for (words, q, x, style), celsius in zip(_PLACES, warm, strict=True):
        if math.isfinite(celsius):
            scene.rectangle((x - _HALF, _FLOOR), 2 * _HALF, max(height(celsius) - _FLOOR, 0.0), style)
            scene.label((x, max(height(celsius), _FLOOR) + 13), solution.text(q), style="strong")
        scene.label((x, _FLOOR - 16), words)
    if not known:
        scene.label((400, 180), "not defined: the screw has no operating point", style="force")
        return scene
    y = _FLOOR + 24
    between = (
        (_PLACES[0][2], _PLACES[1][2], motor_loss), (_PLACES[1][2], _PLACES[2][2], case_gear_heat),
        (_PLACES[2][2], 800.0, gear_plate_heat),
    )  # fmt: skip
    for start, end, q in between:
        scene.arrow((start + _HALF + 6, y), (end - _HALF - 6, y), "flow")
        scene.label(((start + end) / 2, y + 16), solution.text(q), style="flow")
    scene.label((688, y + 38), "to plate, frame, air", style="small")
    scene.arrow((case, _FLOOR - 28), (case, _FLOOR - 64), "flow", f"to the air {solution.text(case_air_heat)}", "tip")
    scene.label((_PLACES[2][2], _FLOOR - 40), f"its teeth add {solution.text(gear_loss)}", style="small")
    return scene


def draw_torque(solution: Solution) -> LivePlot:
    """Draw torque over speed and over the ratio of the gear."""
    return TorqueGraphs(solution)(solution)


_SHARES = (drive_share, gear_torque_share, setscrew_share, core_stress_share)

PICTURES = (
    Picture(
        "From the motor to the screw",
        needs=(
            *_SHARES, motor_side, motor_length, major_diameter, core_diameter, pitch, crest_width, root_width,
            coupled_diameter, core_stall_torque, setscrew_torque,
        ),
        draw=draw_path,
    ),
    Picture("Torque over speed", needs=(available_torque, needed_torque),
            draw=draw_torque),
    Picture(
        "Where the motor's heat goes",
        needs=(winding_temperature, case_temperature, gear_temperature, case_air_heat, gear_plate_heat),
        draw=draw_heat,
    ),
)  # fmt: skip
