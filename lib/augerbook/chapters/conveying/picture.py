"""The plug in its tube with what slides on what, and the torques and forces on a slice of it, to scale."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from augerbook.chapters.conveying import (
    RING_COMES_ALONG,
    angle_carried,
    angle_lining,
    back_drag,
    bore_hold,
    carry_number,
    conveying_efficiency,
    grip_exponent,
    grip_reserve,
    lining_exponent,
    lining_section,
    needed_exponent,
    ring_take,
    solid_per_turn,
    tip_hold,
    turning_drag,
)
from augerbook.chapters.screw import helix_angle_mean, root_width
from augerbook.chapters.screw.picture import screw_outline
from augerbook.chapters.thrust import raise_arm, thread_mean_diameter
from augerbook.core.network import Solution
from augerbook.draw.picture import Picture
from augerbook.draw.scene import Scene
from augerbook.head.feedstock import radial_stress_ratio
from augerbook.head.screw import core_diameter, crest_width, major_diameter, pitch
from augerbook.head.tube import bore_diameter

_WIDTH, _HEIGHT = 800.0, 470.0
#: Room for the longest arrow, where it begins, and where the words beside it begin and their numbers end.
_LONGEST, _TAIL, _WORDS, _NUMBERS = 132.0, 652.0, 372.0, 634.0
_LEFT, _RIGHT, _AXIS = 20.0, 342.0, 246.0
#: From one arrow to the next.
_STEP = 34.0
#: A slice of one millimetre under one megapascal: forces in newtons, torques in newton millimetres.
_SLICE, _PRESSURE = 1e-3, 1e6


@dataclass(frozen=True)
class PlugState:
    """Which of the three states holds, and the forces (N) and torques (N mm) on a slice of 1 mm at 1 MPa.

    Torques count in the sense of the screw, forces towards the nozzle. What is lacking to the push is what the flank
    would have to push more for the slice to be in balance: nothing, unless the plug slips. A ring that lines the tube
    presses on the plug only as far as the wall does not hold it.
    """

    slips: bool
    carried: bool
    wall_torque: float
    screw_torque: float
    thread_torque: float
    flank_torque: float
    flank_push: float
    screw_drag: float
    wall_drag: float
    thread_push: float
    ring_push: float

    @property
    def left(self) -> float:
        """What friction leaves of the flank's push, in newtons: it presses the grains ahead, towards the nozzle."""
        return self.flank_push - self.screw_drag - self.wall_drag

    @property
    def lacking(self) -> float:
        """What the flank's push lacks, in newtons."""
        return self.thread_push + self.ring_push - self.left

    @property
    def is_lacking(self) -> bool:
        """Whether the flank's push is too small. Where a lining breaks loose it is not: the wall's hold is."""
        return self.slips and self.lacking > 0

    @property
    def words(self) -> str:
        """The state in words."""
        if self.slips:
            return "it slips: the plug turns with the screw"
        return "the ring in the gap comes along" if self.carried else "the ring in the gap stays behind as a lining"


def plug_state(solution: Solution) -> PlugState:
    """Work out the state of the plug and the balance of a slice."""
    slips = solution[needed_exponent] >= solution[grip_exponent]
    # A plug that slips does so on the weaker circle.
    carried = solution[carry_number] > 1 if slips else solution.holds(RING_COMES_ALONG)
    hold, diameter = (bore_hold, bore_diameter) if carried else (tip_hold, major_diameter)
    angle = 0.0 if slips else solution[angle_carried if carried else angle_lining]
    on_wall = solution[radial_stress_ratio] * _PRESSURE * _SLICE
    held = on_wall * solution[hold] * math.cos(angle)
    drag = on_wall * solution[hold] / (solution[diameter] / 2) * math.sin(angle)
    slope = solution[helix_angle_mean]
    rise = solution[lining_section] * solution[needed_exponent] * _PRESSURE * _SLICE
    thread_turns = rise * math.sin(slope) * math.cos(slope) * solution[thread_mean_diameter] / 2
    turning = on_wall * solution[turning_drag]
    flank = held - turning - thread_turns
    pressed_by_plug = solution[needed_exponent] if carried else 0.0
    if slips and not carried:
        pressed_by_plug = max(0.0, solution[needed_exponent] - solution[lining_exponent])
    return PlugState(
        slips,
        carried,
        1000 * held,
        1000 * turning,
        1000 * thread_turns,
        1000 * flank,
        flank / solution[raise_arm],
        on_wall * solution[back_drag],
        drag,
        rise * math.sin(slope) ** 2,
        on_wall * solution[ring_take] * pressed_by_plug,
    )


def draw_slice(solution: Solution) -> Scene:
    """Draw the axial section with the surface that slides, and the balance of a slice as arrows."""
    state = plug_state(solution)
    scene = Scene(
        width=_WIDTH,
        height=_HEIGHT,
        title="The plug: what slides, and what a slice of it feels",
        alt=(
            f"Axial section to scale of screw, plug and tube: {state.words}. Beside it arrows of proportional length "
            f"for a slice of 1 mm at 1 MPa. Round the axis: the wall holds {state.wall_torque:.3g} N mm, friction of "
            f"the screw turns with {state.screw_torque:.3g} N mm, the pressure along the thread with "
            f"{state.thread_torque:.3g} N mm, the flank's push with {state.flank_torque:.3g} N mm. "
            f"Along the axis: the flank pushes {state.flank_push:.3g} N, the screw's friction holds back "
            f"{state.screw_drag:.3g} N, what it slides on {state.wall_drag:.3g} N. {state.left:.3g} N are left to "
            f"press with towards the nozzle; the plug asks for {state.thread_push:.3g} N of it, the ring for "
            f"{state.ring_push:.3g} N{_lack(state)}. "
            f"Grip reserve {solution.text(grip_reserve)}, {solution.text(solid_per_turn)} of plastic each turn."
        ),
    )
    _section(scene, solution, state)
    _balance(scene, state)
    return scene


def _lack(state: PlugState) -> str:
    return f"; {state.lacking:.3g} N are lacking" if state.is_lacking else ""


def _section(scene: Scene, solution: Solution, state: PlugState) -> None:
    keys = (bore_diameter, major_diameter, core_diameter, pitch, crest_width, root_width)
    mm = {q: solution.shown(q) for q in keys}
    scale = 176.0 / mm[bore_diameter]
    bore, tip, core = (mm[q] * scale / 2 for q in (bore_diameter, major_diameter, core_diameter))
    step, crest, root = (mm[q] * scale for q in (pitch, crest_width, root_width))
    for y in (_AXIS + bore, _AXIS - bore - 18):
        scene.rectangle((_LEFT, y), _RIGHT - _LEFT, 18, "wall")
    scene.rectangle((_LEFT, _AXIS - bore), _RIGHT - _LEFT, 2 * bore, "plastic" if state.carried else "grain")
    scene.rectangle((_LEFT, _AXIS - tip), _RIGHT - _LEFT, 2 * tip, "plastic")
    profile = (core, tip, step, crest, root, _LEFT, _RIGHT)
    scene.polygon(screw_outline(*profile, origin=(0.0, _AXIS)), "screw")
    slides = bore if state.carried else tip
    for y in (_AXIS + slides, _AXIS - slides):
        scene.line((_LEFT, y), (_RIGHT, y), "heavy")
    scene.line((_LEFT, _AXIS), (_RIGHT, _AXIS), "centre")
    middle = (_LEFT + _RIGHT) / 2
    scene.label((_LEFT, _HEIGHT - 24), "To scale; nozzle to the right", anchor="start", style="strong")
    scene.leader((middle + 84, _AXIS + slides), (middle + 60, _AXIS + bore + 46), "slides here (heavy line)")
    words = state.words[0].upper() + state.words[1:]
    scene.label((_LEFT, _AXIS - bore - 50), words.replace(" stays", "\nstays"), anchor="start", style="strong")
    values = (
        f"grip reserve {solution.text(grip_reserve)}; efficiency {solution.text(conveying_efficiency)};\n"
        f"solid plastic {solution.text(solid_per_turn)} each turn"
    )
    scene.label((_LEFT, _AXIS - bore - 96), values, anchor="start")


def _balance(scene: Scene, state: PlugState) -> None:
    scene.label((_WORDS, _HEIGHT - 24), "A slice of 1 mm at 1 MPa, to scale", anchor="start", style="strong")
    scene.label((_WORDS, 412), "round the axis; to the right: with the screw", anchor="start", style="note")
    turning = (
        ("wall holds" if state.carried else "lining holds", -state.wall_torque),
        ("screw's friction turns", state.screw_torque),
        ("pressure turns", state.thread_torque),
        ("flank's push turns" if state.flank_torque >= 0 else "flank holds", state.flank_torque),
    )
    _chain(scene, 384.0, turning, "N·mm")
    scene.label((_WORDS, 236), "along the axis; to the right: to the nozzle", anchor="start", style="note")
    along = (
        ("flank pushes" if state.flank_push >= 0 else "flank presses less", state.flank_push),
        ("screw's friction holds", -state.screw_drag),
        ("wall's friction holds" if state.carried else "lining's friction holds", -state.wall_drag),
    )
    _chain(scene, 208.0, along, "N", "left to press with")
    asked = f"asked for: plug {state.thread_push:.3g} N, ring {state.ring_push:.3g} N"
    scene.label((_WORDS, 208.0 - 4 * _STEP), asked, anchor="start")
    if state.is_lacking:
        scene.label((_WORDS, 208.0 - 5 * _STEP), f"lacking: {state.lacking:.3g} N", anchor="start", style="strong")


def _chain(scene: Scene, top: float, parts: tuple[tuple[str, float], ...], unit: str, left: str = "") -> None:
    """Draw arrows, each beginning where the last one ends.

    They come back to where they began, or ``left`` names their sum: it gets an arrow of its own, from where they began.
    """
    ends = np.concatenate([[0.0], np.cumsum([value for _, value in parts])])
    lowest, span = float(ends.min()), max(float(ends.max() - ends.min()), 1e-12)
    places = [float(place) for place in _TAIL + (ends - lowest) / span * _LONGEST]
    rows = [(words, value, places[i], places[i + 1], "force") for i, (words, value) in enumerate(parts)]
    if left:
        rows.append((left, float(ends[-1]), places[0], places[-1], "flow"))
    for row, (words, value, start, end, style) in enumerate(rows):
        y = top - _STEP * row
        if abs(end - start) > 1.0:
            scene.arrow((start, y), (end, y), style)
        scene.label((_WORDS, y), words, anchor="start", style="flow" if style == "flow" else "label")
        shown = f"{value:.3g}" if left and row == len(parts) else f"{abs(value):.3g}"
        scene.label((_NUMBERS, y), f"{shown} {unit}", anchor="end")
        if row + 1 < len(rows):
            scene.line((end, y), (end, y - _STEP), "thin")


PICTURES = (
    Picture(
        "The plug and a slice of it",
        needs=(
            bore_diameter,
            major_diameter,
            core_diameter,
            pitch,
            crest_width,
            root_width,
            grip_reserve,
            solid_per_turn,
            conveying_efficiency,
            angle_carried,
            angle_lining,
        ),
        draw=draw_slice,
    ),
)
