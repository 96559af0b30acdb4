"""Pictures of thrust: the thread unrolled, with its forces to scale, the bounds side by side, the nozzle's thread."""

from __future__ import annotations

import math

import numpy as np

from augerbook.chapters.screw import helix_angle_mean, root_width
from augerbook.chapters.screw.picture import screw_outline
from augerbook.chapters.thrust import (
    block_minor_diameter,
    block_thread_share,
    effective_friction,
    end_factor,
    frictionless_thrust,
    nozzle_preload,
    nozzle_pressure,
    nozzle_push,
    nozzle_thread_share,
    pressure_thrust,
    raise_arm,
    running_thrust,
    running_thrust_bound,
    stall_pressure,
    stall_thrust,
    thread_mean_diameter,
)
from augerbook.core.network import Solution
from augerbook.draw.picture import Picture
from augerbook.draw.scene import Scene
from augerbook.head.drive import running_torque, stall_torque
from augerbook.head.nozzle import (
    melt_bore_diameter,
    nozzle_thread_diameter,
    nozzle_thread_length,
    nozzle_thread_pitch,
)
from augerbook.head.screw import core_diameter, crest_width, flank_half_angle, major_diameter, pitch
from augerbook.head.tube import bore_diameter

#: The windows are in picture units: what is to scale says so itself.
_WIDTH = 800.0
_UNROLLED_HEIGHT, _BOUNDS_HEIGHT = 372.0, 437.0
#: The axis of the tube above the arrows, and how far these are apart.
_AXIS, _ROW = 333.0, 45.0
#: Longest forces along and across the axis, and the box that the unrolled turn has to fit into.
_FORCE, _SIDEWAYS, _BASE, _RISE = 150.0, 120.0, 370.0, 200.0
_HEADING, _LEFT_OF_FORCES = 352.0, 496.0


def draw_unrolled(solution: Solution) -> Scene:
    """Draw one turn of the thread unrolled into a slope, and the forces on the plug at stall as a closed polygon."""
    turn = math.pi * thread_mean_diameter.shown(solution[thread_mean_diameter])
    step, angle = pitch.shown(solution[pitch]), solution[helix_angle_mean]
    friction = solution[effective_friction]
    resting = math.atan(friction)
    jams = angle + resting >= math.pi / 2
    push = solution[stall_thrust] / solution[end_factor]
    hold = push * solution[raise_arm] / solution[thread_mean_diameter] * 2
    if jams:
        words = (
            f"a plug that grips like a nut jams: slope of {math.degrees(angle):.1f} degrees and angle of friction of "
            f"{math.degrees(resting):.1f} degrees add up to a right angle or more"
        )
    else:
        words = (
            f"at stall torque the thread pushes the plug with {push:.0f} N, and {hold:.0f} N at half depth of the "
            f"flight keep it from turning; without friction {push * math.tan(angle):.0f} N would do"
        )
    scene = Scene(
        width=_WIDTH,
        height=_UNROLLED_HEIGHT,
        title="One turn of the thread unrolled, motor stalled",
        alt=(
            f"A turn of the thread unrolled to scale: a slope {turn:.3g} mm long and {step:.3g} mm high, at "
            f"{math.degrees(angle):.1f} degrees. Beside it the forces on the plug, to scale: {words}."
        ),
    )
    _slope(scene, turn, step, angle)
    if jams:
        scene.label((640, 220), "The thread jams:\nno torque turns the screw\nin a plug that holds.", style="force")
    else:
        _forces(scene, push, angle, resting, hold)
    return scene


def _slope(scene: Scene, turn: float, step: float, angle: float) -> None:
    scale = min(_BASE / turn, _RISE / step)
    left, floor = 30.0 + (_BASE - turn * scale) / 2, 92.0
    right, top = left + turn * scale, floor + step * scale
    scene.label((30, _HEADING), "The slope, to scale", anchor="start", style="strong")
    scene.polygon([(left, floor), (right, floor), (right, top)], "screw")
    along = np.array([math.cos(angle), math.sin(angle)])
    up = np.array([-along[1], along[0]])
    middle = np.array([(left + right) / 2, (floor + top) / 2])
    long, thick = min(52.0, 0.42 * (right - left)), 34.0
    block = [middle - long * along, middle + long * along]
    scene.polygon([*block, block[1] + thick * up, block[0] + thick * up], "plastic")
    x, y = middle + 0.5 * thick * up
    above = y + 0.5 * thick / along[0]
    scene.arrow((x, above + 84), (x, above + 3), text="melt pushes back")
    scene.arrow((x - long - 74, y), (x - long - 4, y))
    scene.label((x - long - 80, y + 34), "wall keeps plug\nfrom turning", anchor="start", style="force")
    scene.label((x, y), "plug", style="strong")
    scene.label((right - 8, floor + 15), "screw", anchor="end", style="strong")
    scene.dimension((left, floor), (right, floor), f"once around: {turn:.3g} mm", offset=-26)
    scene.dimension((right, floor), (right, top), f"pitch\n{step:.3g} mm", offset=-16, text_at="right")
    scene.label((30, floor - 64), f"slope {math.degrees(angle):.1f}°", anchor="start")
    scene.arrow((236, floor - 64), (142, floor - 64), "motion", "as the screw turns")


def _forces(scene: Scene, push: float, angle: float, resting: float, hold: float) -> None:
    tangent = math.tan(angle + resting)
    size = min(_FORCE, _SIDEWAYS / tangent)
    x, y = 548.0, 104.0
    top, far = (x, y + size), (x + size * tangent, y)
    whole = 1 / math.cos(angle + resting)
    square, rubbing = whole * math.cos(resting), whole * math.sin(resting)
    bend = (far[0] - size * square * math.sin(angle), y + size * square * math.cos(angle))
    scene.label((_LEFT_OF_FORCES, _HEADING), "Forces on the plug, to scale", anchor="start", style="strong")
    scene.line(top, (x + size * math.tan(angle), y), "hidden")
    scene.line(far, top, "thin")
    scene.arrow(top, (x, y))
    scene.arrow((x, y), far)
    scene.arrow(far, bend, "flow")
    scene.arrow(bend, top, "flow")
    scene.label((x - 8, y + size / 2), f"melt\n{push:.0f} N", anchor="end", style="force")
    scene.label((x, y - 20), f"wall {hold:.0f} N", anchor="start", style="force")
    without = f"without friction (dashed) {push * math.tan(angle):.0f} N: {100 * math.tan(angle) / tangent:.0f} %"
    scene.label((_LEFT_OF_FORCES, y - 48), without, anchor="start", style="note")
    beside = ((far[0] + bend[0]) / 2 + 12 + 10 * math.tan(angle), (far[1] + bend[1]) / 2)
    scene.label(beside, f"square to slope\n{push * square:.0f} N", anchor="start", style="flow")
    above = (bend[0] + 8, bend[1] + 20)
    scene.label(above, f"friction {push * rubbing:.0f} N", style="flow")


def draw_bounds(solution: Solution) -> Scene:
    """Draw the tube with its two causes of thrust, and below it five answers as arrows of proportional length."""
    cases = (
        (pressure_thrust, "running: pressure on the bore"),
        (running_thrust, "running, with what the wall holds back"),
        (running_thrust_bound, "running, no friction on the screw: at most"),
        (stall_thrust, "stalled, a nut with friction"),
        (frictionless_thrust, "stalled, a nut without friction"),
    )
    forces = {q: solution[q] for q, _ in cases}
    listed = "; ".join(f"{words} {solution.text(q)}" for q, words in cases)
    scene = Scene(
        width=_WIDTH,
        height=_BOUNDS_HEIGHT,
        title="What presses on the bearing",
        alt=(
            f"The screw in its tube with {solution.text(nozzle_pressure)} of melt at its tip and "
            f"{solution.text(running_torque)} at its shaft, {solution.text(stall_torque)} at stall. "
            f"Thrust as arrows of proportional length: {listed}."
        ),
    )
    _tube(scene, solution)
    longest = max(abs(f) for f in forces.values() if math.isfinite(f))
    tail = 478.0
    top = _AXIS - 120.0
    scene.line((tail, 14), (tail, top + 22), "thin")
    scene.label((30, top + 28), "arrows below: length to scale", anchor="start", style="note")
    for row, (quantity, words) in enumerate(cases):
        y = top - _ROW * row
        force = forces[quantity]
        known = math.isfinite(force) and force > 0
        if known:
            scene.arrow((tail, y), (tail - 448 * force / longest, y))
        scene.label((tail + 12, y + 9), words, anchor="start")
        none = "not defined: the plug cannot press" if quantity is running_thrust else "not defined: the thread jams"
        value = solution.text(quantity) if known else none
        if quantity is running_thrust_bound and force < forces[pressure_thrust]:
            value += ": torque too small"
        scene.label((tail + 12, y - 10), value, anchor="start", style="force")
    return scene


def _tube(scene: Scene, solution: Solution) -> None:
    mm = {q: solution.shown(q) for q in (bore_diameter, major_diameter, core_diameter, pitch, crest_width, root_width)}
    scale = 84.0 / mm[bore_diameter]
    axis, bore = _AXIS, 42.0
    left, tip, end = 150.0, 560.0, 690.0
    for y in (axis + bore, axis - bore - 12):
        scene.rectangle((left, y), end - left, 12, "wall")
    scene.rectangle((left, axis - bore), tip - left, 2 * bore, "plastic")
    scene.rectangle((tip, axis - bore), end - tip, 2 * bore, "melt")
    core, major = (mm[q] / 2 * scale for q in (core_diameter, major_diameter))
    step, crest, root = (mm[q] * scale for q in (pitch, crest_width, root_width))
    profile = (core, major, step, crest, root, left, tip)
    scene.polygon(screw_outline(*profile, origin=(0.0, axis)), "screw")
    scene.rectangle((70, axis - core), left - 70, 2 * core, "screw")
    scene.rectangle((58, axis - 36), 14, 72, "bearing")
    scene.rectangle((40, axis - 52), 18, 104, "plate")
    scene.line((30, axis), (end, axis), "centre")
    for share in (-0.75, -0.25, 0.25, 0.75):
        scene.arrow((tip + 62, axis + share * bore), (tip + 3, axis + share * bore), "force")
    bend = np.linspace(-0.38 * math.pi, 0.38 * math.pi, 19)
    scene.arrow_along(np.column_stack([112 + 14 * np.cos(bend), axis + (core + 16) * np.sin(bend)]), "motion")
    torques = f"torque {solution.text(running_torque)}, at stall {solution.text(stall_torque)}"
    scene.label((92, axis + bore + 24), torques, anchor="start")
    scene.label((end, axis + bore + 24), f"melt at {solution.text(nozzle_pressure)}", anchor="end")
    scene.label((30, axis - 68), "bearing and plate", anchor="start", style="note")
    scene.label(((left + tip) / 2, axis - 68), "plug that grips like a nut, if it does not turn", style="note")


#: The nozzle in its block: the axis, where the thread begins, and the most that its length and diameter may take.
_NOZZLE_HEIGHT, _NOZZLE_AXIS, _SEAT = 384.0, 190.0, 230.0
_THREAD_LONG, _THREAD_WIDE = 230.0, 150.0
_BLOCK, _HEAD, _TIP = 144.0, 84.0, 40.0


def draw_nozzle_thread(solution: Solution) -> Scene:
    """Draw the nozzle in the block's thread, cut along the axis, with what pushes it out and where it would shear."""
    preload, void = solution.text(nozzle_preload), "not defined: the screw's thread jams"
    known = math.isfinite(solution[nozzle_push]) and solution[nozzle_push] >= 0
    push = solution.text(nozzle_push) if known else void
    each = (("nozzle", nozzle_thread_share), ("block", block_thread_share))
    shares = ", ".join(f"{part} {solution.text(q)}" for part, q in each) if known else void
    mm = {
        q: solution.shown(q)
        for q in (nozzle_thread_diameter, nozzle_thread_length, nozzle_thread_pitch, block_minor_diameter)
    }
    scene = Scene(
        width=_WIDTH,
        height=_NOZZLE_HEIGHT,
        title="What holds the nozzle, motor stalled",
        alt=(
            f"Section through the thread that holds the nozzle in the block, to scale: "
            f"{mm[nozzle_thread_diameter]:.3g} mm wide, {mm[nozzle_thread_length]:.3g} mm in engagement, a turn every "
            f"{mm[nozzle_thread_pitch]:.3g} mm. Melt at {solution.text(stall_pressure)} pushes the nozzle out: {push}. "
            f"Tightening has left {preload} in the "
            f"thread. Shear over what is left of the strength: {shares}."
        ),
    )
    scale = min(_THREAD_LONG / mm[nozzle_thread_length], _THREAD_WIDE / mm[nozzle_thread_diameter])
    long, crest, pitch_drawn = (
        mm[q] * scale for q in (nozzle_thread_length, nozzle_thread_diameter, nozzle_thread_pitch)
    )
    crest, root = crest / 2, max(mm[block_minor_diameter], 0.0) * scale / 2
    bore = min(solution.shown(melt_bore_diameter) * scale / 2, crest)
    end = _SEAT + long
    axis = np.array([0.0, _NOZZLE_AXIS])
    thread = _basic_profile(pitch_drawn, root, crest, _SEAT, end)
    block = [(end, _BLOCK), (_SEAT - 120, _BLOCK), (_SEAT - 120, crest), (_SEAT, crest)]
    # Head and tip stand for any nozzle: only the thread and its bore are to scale.
    tip = end + _HEAD + _TIP
    head = [(end, crest + 24), (end + _HEAD, crest + 24), (tip, 14), (tip, 4), (end + _HEAD, bore), (_SEAT, bore)]
    for side in (1.0, -1.0):
        mirror = np.array([1.0, side])
        scene.polygon(np.vstack([thread, block]) * mirror + axis, "wall")
        scene.polygon(np.vstack([thread, head]) * mirror + axis, "metal")
    inside = np.array([(_SEAT, bore), (end + _HEAD, bore), (tip, 4)])
    melt = np.vstack([[(_SEAT - 120, crest), (_SEAT, crest)], inside])
    scene.polygon(np.vstack([melt, melt[::-1] * np.array([1.0, -1.0])]) + axis, "melt")
    for side in (1.0, -1.0):
        y = _NOZZLE_AXIS + side * (bore + crest) / 2
        scene.arrow((_SEAT - 64, y), (_SEAT - 3, y), "force")
        scene.line((_SEAT, _NOZZLE_AXIS + side * root), (end, _NOZZLE_AXIS + side * root), "hidden")
    scene.line((_SEAT - 130, _NOZZLE_AXIS), (tip + 20, _NOZZLE_AXIS), "centre")
    left = _SEAT - 160
    scene.dimension(
        (left, _NOZZLE_AXIS - crest), (left, _NOZZLE_AXIS + crest), f"thread\n{mm[nozzle_thread_diameter]:.3g} mm"
    )
    low = _NOZZLE_AXIS - _BLOCK - 14
    scene.dimension((_SEAT, low), (end, low), f"engaged {mm[nozzle_thread_length]:.3g} mm")
    scene.label(((_SEAT + end) / 2, _NOZZLE_AXIS + (crest + _BLOCK) / 2), "block", style="strong")
    scene.label((end + _HEAD / 2, _NOZZLE_AXIS + (bore + crest + 24) / 2), "nozzle", style="strong")
    x = tip + 26
    told = (
        ("force", f"melt pushes {push}" if known else void.replace(": ", ":\n")),
        ("force", f"tightening left {preload}"),
        ("note", "shear over what is left\nof the strength:"),
        ("label", shares.replace(", ", "\n") if known else "not defined"),
        ("note", "dashed: where the\nnozzle's teeth would shear"),
    )
    for row, (style, words) in enumerate(told):
        scene.label((x, _NOZZLE_AXIS + 112 - 54 * row), words, anchor="start", style=style)
    return scene


def _basic_profile(step: float, root: float, crest: float, start: float, end: float) -> np.ndarray:
    """Upper outline of a metric thread's basic profile from start to end: crests an eighth, roots a quarter wide."""
    turns = np.arange(math.ceil((end - start) / step) + 1)
    within = np.array([0.0, 1 / 8, 7 / 16, 11 / 16]) * step
    places = (start + turns[:, None] * step + within).ravel()
    heights = np.tile([crest, crest, root, root], turns.size)
    kept = places < end
    return np.column_stack([np.append(places[kept], end), np.append(heights[kept], np.interp(end, places, heights))])


_THREAD = (major_diameter, core_diameter, pitch, flank_half_angle)

PICTURES = (
    Picture(
        "The thread unrolled",
        needs=(*_THREAD, thread_mean_diameter, helix_angle_mean, effective_friction, stall_thrust, end_factor),
        draw=draw_unrolled,
    ),
    Picture(
        "What presses on the bearing",
        needs=(
            *_THREAD,
            bore_diameter,
            crest_width,
            pressure_thrust,
            running_thrust,
            running_thrust_bound,
            stall_thrust,
            frictionless_thrust,
        ),
        draw=draw_bounds,
    ),
    Picture(
        "What holds the nozzle",
        needs=(
            nozzle_thread_diameter,
            nozzle_thread_pitch,
            nozzle_thread_length,
            melt_bore_diameter,
            block_minor_diameter,
            stall_pressure,
            nozzle_push,
            nozzle_preload,
            nozzle_thread_share,
            block_thread_share,
        ),
        draw=draw_nozzle_thread,
    ),
)
