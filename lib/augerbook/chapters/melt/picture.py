"""The nozzle in section, to scale, with the pressure along it above."""

from __future__ import annotations

import math

import numpy as np

from augerbook.chapters.melt import (
    NOZZLE_INPUTS,
    bore_pressure,
    cone_pressure,
    entrance_pressure,
    land_pressure,
    nozzle_temperature,
    wall_rate,
    wall_stress,
)
from augerbook.chapters.melt.models import Nozzle, pressure_along
from augerbook.chapters.thrust import nozzle_pressure
from augerbook.core.network import Solution
from augerbook.core.quantity import Quantity
from augerbook.draw.picture import Picture
from augerbook.draw.scene import Scene
from augerbook.head.nozzle import (
    cone_half_angle,
    end_correction,
    land_length,
    melt_bore_diameter,
    melt_bore_length,
    nozzle_diameter,
)

_WIDTH, _HEIGHT = 800.0, 480.0
#: Where the bore begins, how long and how thick the nozzle may become, and its axis.
_LEFT, _LONGEST, _THICKEST, _AXIS = 96.0, 560.0, 96.0, 112.0
#: The graph above the section.
_BASE, _TOP = 240.0, 456.0
_PARTS = (("land", land_pressure), ("entrance of the land", entrance_pressure), ("cone", cone_pressure),
          ("bore", bore_pressure))  # fmt: skip


def nozzle_of(solution: Solution) -> Nozzle:
    """Return what the model of the nozzle takes from a solution."""
    return Nozzle(*(np.float64(solution[q]) for q in NOZZLE_INPUTS))


def ceiling(value: float) -> tuple[float, float]:
    """A round number at or above a value, and the step of four or five lines up to it."""
    power = 10.0 ** math.floor(math.log10(max(value, 1e-3)))
    for top, step in ((1.0, 0.25), (2.0, 0.5), (2.5, 0.5), (4.0, 1.0), (5.0, 1.0), (8.0, 2.0), (10.0, 2.5)):
        if value <= top * power * 1.0001:
            return top * power, step * power
    return 20 * power, 5 * power


def draw_nozzle(solution: Solution) -> Scene:
    """Draw bore, cone and land in section, and the pressure of the melt above each place."""
    words = {q: solution.text(q) for q in (nozzle_pressure, nozzle_temperature, wall_stress, wall_rate)}
    if not math.isfinite(solution[nozzle_pressure]):
        scene = Scene(width=_WIDTH, height=120, title="Pressure along the nozzle",
                      alt="No pressure along the nozzle: what it follows from is not defined.")  # fmt: skip
        return scene.label((400, 60), "No pressure can be computed: see the messages.")
    parts = {name: solution.text(q) for name, q in _PARTS}
    scene = Scene(
        width=_WIDTH, height=_HEIGHT, title="Pressure along the nozzle",
        alt=(
            "Section of the nozzle to scale: melt flows from the bore at the left through the cone into the land at "
            f"the right. Above it the pressure, {words[nozzle_pressure]} at the screw's tip and nothing at the end: "
            + ", ".join(f"{name} {text}" for name, text in parts.items())
            + f". At the wall of the land {words[wall_stress]} at {words[wall_rate]}."
        ),
    )  # fmt: skip
    mm = {q: solution.shown(q) for q in (nozzle_diameter, land_length, melt_bore_diameter, melt_bore_length)}
    cone = max(mm[melt_bore_diameter] - mm[nozzle_diameter], 0.0) / 2 / math.tan(solution[cone_half_angle])
    total = mm[melt_bore_length] + cone + mm[land_length]
    scale = min(_LONGEST / total, _THICKEST / mm[melt_bore_diameter])
    ends = _LEFT + np.cumsum([0.0, mm[melt_bore_length] * scale, cone * scale, mm[land_length] * scale])
    _section(scene, mm, ends, scale)
    _graph(scene, solution, ends, scale, parts)
    scene.label((ends[0] - 84, _BASE - 20), f"at the screw's tip {words[nozzle_pressure]}; cone and land at "
                f"{words[nozzle_temperature]}", anchor="start", style="small")  # fmt: skip
    return scene


def _section(scene: Scene, mm: dict[Quantity, float], ends: np.ndarray, scale: float) -> None:
    wide, narrow = mm[melt_bore_diameter] * scale / 2, mm[nozzle_diameter] * scale / 2
    left, shoulder, land, end = ends
    axis = np.array([0.0, _AXIS])
    outside = np.array([(left, wide + 30), (shoulder, wide + 30), (land, narrow + 24), (end, narrow + 12)])
    inside = np.array([(left, wide), (shoulder, wide), (land, narrow), (end, narrow)])
    for side in (1.0, -1.0):
        wall = np.vstack([outside, inside[::-1]]) * np.array([1.0, side])
        scene.polygon(wall + axis, "metal")
    scene.polygon(np.vstack([inside, inside[::-1] * np.array([1.0, -1.0])]) + axis, "melt")
    scene.line((left - 30, _AXIS), (end + 40, _AXIS), "centre")
    scene.arrow((left - 76, _AXIS), (left - 6, _AXIS), "flow")
    scene.arrow((end + 8, _AXIS), (end + 52, _AXIS), "flow")
    scene.dimension((left + 24, _AXIS - wide), (left + 24, _AXIS + wide), f"{mm[melt_bore_diameter]:.3g} mm",
                    text_at="right")  # fmt: skip
    low = _AXIS - wide - 46
    scene.dimension((left, low), (shoulder, low), f"bore {mm[melt_bore_length]:.3g} mm")
    scene.dimension((land, low), (end, low), f"land {mm[land_length]:.3g} mm", text_at="q")
    scene.leader((end - 1, _AXIS + narrow), (end + 26, _AXIS + narrow + 34), f"{mm[nozzle_diameter]:.3g} mm wide")


def _graph(scene: Scene, solution: Solution, ends: np.ndarray, scale: float, parts: dict[str, str]) -> None:
    place, _, pressure = pressure_along(nozzle_of(solution))
    shown = np.asarray(nozzle_pressure.shown(pressure))
    highest, step = ceiling(float(shown[-1]))
    right = float(ends[-1])
    lines: list[tuple[float, float]] = []
    for value in np.arange(0.0, highest * 1.0001, step):
        y = _BASE + (_TOP - _BASE) * float(value) / highest
        lines += [(_LEFT, y), (right, y), (np.nan, np.nan)]
        scene.label((_LEFT - 8, y), f"{value:.3g} MPa", anchor="end", style="small")
    scene.path(lines[:-1], "faint")
    for x in ends[1:-1]:
        scene.line((float(x), _BASE), (float(x), _TOP), "thin")
    scene.path(np.column_stack([right - 1e3 * place * scale, _BASE + (_TOP - _BASE) * shown / highest]), "main")
    # The curve falls towards the land, so its upper right corner has room for what each part takes.
    for row, (name, text) in enumerate(parts.items()):
        scene.label((_WIDTH - 16, _TOP - 10 - 22 * row), f"{name} {text}", anchor="end")


PICTURES = (
    Picture(
        "Pressure along the nozzle",
        needs=(
            *NOZZLE_INPUTS, nozzle_pressure, nozzle_temperature, wall_stress, wall_rate, end_correction,
            *(q for _, q in _PARTS),
        ),
        draw=draw_nozzle,
    ),
)  # fmt: skip
