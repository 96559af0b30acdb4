"""What limits the largest circle between two flights: a drawing of the three cases, each to scale in itself."""

from __future__ import annotations

import math

import numpy as np

from augerbook.chapters import whole_head
from augerbook.chapters.grains import half_opening
from augerbook.chapters.screw import tip_gap
from augerbook.core.quantity import Quantity, Series
from augerbook.draw.scene import Scene
from augerbook.head.screw import flank_half_angle

#: Depth of the flight, half the width between crests, gap over the tip, flank angle in degrees; invented, in mm.
_CASES = (
    ("the core", 1.0, 1.42, 0.6, 20.0),
    ("both flanks", 1.6, 1.2, 0.7, 28.0),
    ("both crests", 1.2, 0.62, 1.55, 15.0),
)
_PANEL, _CREST = 4.6, 0.36
_DEEPEST = max(depth for _, depth, *_ in _CASES)


def draw_limits() -> Scene:
    """Draw a circle under the wall that is held up by the core, by both flanks, and by both crests."""
    scene = Scene(
        width=3 * _PANEL,
        height=4.6,
        origin=(0.0, -2.55),
        title="What holds the largest grain",
        alt=(
            "Three channels between two flights under the wall, each with the largest circle that fits. First a "
            "shallow channel: the circle lies on the core. Then a deep narrow channel: it rests on both flanks. Then "
            "flights close together under a wide gap: it rests on both crests. Marked are half the opening w, the gap "
            "over the tip s, the gap over the core g, the flank angle alpha and the diameter x."
        ),
    )
    for place, (name, depth, opening, gap, degrees) in enumerate(_CASES):
        _panel(scene, _PANEL * (place + 0.5), name, depth, opening, gap, math.radians(degrees))
    return scene


def _panel(scene: Scene, middle: float, name: str, depth: float, opening: float, gap: float, angle: float) -> None:
    """Draw one case; heights count from the crests."""
    left, right = middle - 0.46 * _PANEL, middle + 0.46 * _PANEL
    slope, below = math.tan(angle), -_DEEPEST - 0.3
    out = min(opening + _CREST + depth * slope, right - middle)
    down = -min(depth, (out - opening - _CREST) / slope)
    half = [(opening - depth * slope, -depth), (opening, 0.0), (opening + _CREST, 0.0), (out, down)]
    outline = [(middle + z, y) for z, y in half]
    mirrored = [(2 * middle - z, y) for z, y in outline[::-1]]
    ends = [(right, down), (right, below), (left, below), (left, down)]
    scene.polygon(np.array([*mirrored, *outline, *ends]), "screw")
    scene.rectangle((left, gap), right - left, 0.3, "wall")
    between_flights = whole_head().nodes["grains.flight_circle_centred"]
    given: dict[Quantity | Series, float] = {half_opening: opening, flank_half_angle: angle, tip_gap: gap}
    (largest,) = between_flights.array(*(given[quantity] for quantity in between_flights.inputs))
    diameter = min(gap + depth, float(largest))
    scene.circle((middle, gap - diameter / 2), diameter / 2, "grain")
    scene.line((middle, 0.0), (middle + opening, 0.0), "hidden")
    # The letter stands between circle and crest where there is room, else inside the circle.
    beside = math.sqrt(max((diameter / 2) ** 2 - (0.14 - gap + diameter / 2) ** 2, 0.0))
    at_w = (beside + opening) / 2 if opening - beside > 0.45 else 0.5 * min(beside, opening)
    scene.label((middle + at_w, 0.14), "w", style="strong")
    tip = middle + max(opening + _CREST / 2, diameter / 2 + 0.12)
    scene.line((middle + opening, 0.0), (tip, 0.0), "thin")
    scene.dimension((tip, 0.0), (tip, gap), "s", text_at="right")
    if name == "both flanks":
        scene.line((middle + opening, 0.0), (middle + opening, -1.15), "thin")
        scene.label((middle + opening - 0.2, -0.98), "α", style="strong")
    at = middle - opening - _CREST - 0.1
    scene.dimension((at, -depth), (at, gap), "g", text_at="left" if name == "both crests" else "right")
    scene.dimension((middle, gap - diameter), (middle, gap), "x", text_at="left")
    scene.label((middle, below - 0.32), f"held by {name}", style="strong")
