"""The head in section, to scale: tube, block, screw and what is in the bore. Shared by the pictures that show it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from augerbook.chapters.screw import root_width
from augerbook.chapters.screw.picture import screw_outline
from augerbook.chapters.thrust import break_outside_diameter
from augerbook.core.network import Solution
from augerbook.core.quantity import Quantity
from augerbook.draw.scene import Scene
from augerbook.head.heating import cooler_end, cooler_start, heated_length
from augerbook.head.screw import core_diameter, crest_width, major_diameter, pitch
from augerbook.head.tube import bore_diameter, break_length, break_start, tube_length, tube_outside_diameter

#: What must be known to draw it.
SECTION_NEEDS = (
    bore_diameter, major_diameter, core_diameter, pitch, crest_width, root_width, tube_outside_diameter, tube_length,
    heated_length, cooler_start, cooler_end, break_start, break_length, break_outside_diameter,
)  # fmt: skip
#: A stretch of the head: where it begins and ends (in the scene's unit), and its style.
Stretch = tuple[float, float, str]
_BLOCK_RIM, _FIN = 16.0, 22.0


@dataclass(frozen=True)
class HeadSection:
    """Where the head stands in a scene.

    Attributes:
        mm: what `SECTION_NEEDS` names, in the units shown.
        left: where the throat is drawn.
        axis: height of the axis.
        scale: length in the scene for each millimetre.
    """

    mm: Mapping[Quantity, float]
    left: float
    axis: float
    scale: float

    @classmethod
    def of(cls, solution: Solution, *, left: float, axis: float, longest: float, thickest: float) -> HeadSection:
        """Fit the head of a solution between the throat and a longest length, and below a thickest tube."""
        mm = {q: solution.shown(q) for q in SECTION_NEEDS}
        scale = min(longest / (mm[tube_length] + mm[heated_length]), thickest / mm[tube_outside_diameter])
        return cls(mm, left, axis, scale)

    @cached_property
    def bore(self) -> float:
        """Half of the bore."""
        return self.mm[bore_diameter] * self.scale / 2

    @cached_property
    def outer(self) -> float:
        """Half of the tube's outside diameter."""
        return self.mm[tube_outside_diameter] * self.scale / 2

    @cached_property
    def block(self) -> float:
        """Where the heated block begins."""
        return self.left + self.mm[tube_length] * self.scale

    @cached_property
    def tip(self) -> float:
        """Where the screw ends."""
        return self.left + (self.mm[tube_length] + self.mm[heated_length]) * self.scale

    def draw(self, scene: Scene, plastic: Sequence[Stretch], screw: Sequence[Stretch], *, cooler: bool = True) -> None:
        """Draw tube, cooler and block, then what is in the bore and the screw, each in stretches."""
        if cooler:
            self._cooler(scene)
        self._tube(scene)
        scene.rectangle((self.block, self.axis - self.outer - _BLOCK_RIM), self.tip - self.block,
                        2 * (self.outer + _BLOCK_RIM), "metal")  # fmt: skip
        for start, end, style in plastic:
            if end - start > 0.01:
                scene.rectangle((start, self.axis - self.bore), end - start, 2 * self.bore, style)
        for start, end, style in screw:
            if end - start > 0.01:
                scene.polygon(self._screw(start - self.left, end - self.left), style)
        scene.line((self.left - 20, self.axis), (self.tip + 12, self.axis), "centre")
        scene.arrow((self.left - 62, self.axis), (self.left - 6, self.axis), "flow")

    def _tube(self, scene: Scene) -> None:
        """Draw the wall, in three pieces where a thermal break interrupts it."""
        length, neck = self.mm[tube_length], self.mm[break_outside_diameter] * self.scale / 2
        start, end = self.mm[break_start], min(self.mm[break_start] + self.mm[break_length], length)
        if end <= start:
            start = end = length
        for left, right, half, style in ((0.0, start, self.outer, "wall"), (start, end, neck, "bearing"),
                                         (end, length, self.outer, "wall")):  # fmt: skip
            if right > left:
                corner = (self.left + left * self.scale, self.axis - half)
                scene.rectangle(corner, (right - left) * self.scale, 2 * half, style)
        if end > start:
            middle, top = self.left + (start + end) / 2 * self.scale, self.axis + self.outer + 36
            scene.line((middle, self.axis + neck), (middle, top), "thin")
            scene.label((middle, top + 7), "thermal break", style="small")

    def _screw(self, start: float, end: float) -> np.ndarray:
        core, tip, step, crest, root = (
            self.mm[q] * self.scale * part
            for q, part in (
                (core_diameter, 0.5), (major_diameter, 0.5), (pitch, 1.0), (crest_width, 1.0), (root_width, 1.0),
            )
        )  # fmt: skip
        return screw_outline(core, tip, step, crest, root, start, end, origin=(self.left, self.axis))

    def _cooler(self, scene: Scene) -> None:
        start, end = max(self.mm[cooler_start], 0.0), min(self.mm[cooler_end], self.mm[tube_length])
        if end <= start:
            return
        count = max(2, min(24, round((end - start) * self.scale / 22)))
        fin = np.array([(0, 0), (5, 0), (5, _FIN), (0, _FIN), (np.nan, np.nan)])
        places = np.linspace(self.left + start * self.scale, self.left + end * self.scale - 5, count)
        corners = [(x, y) for x in places for y in (self.axis + self.outer, self.axis - self.outer - _FIN)]
        scene.polygon((np.array(corners)[:, None, :] + fin).reshape(-1, 2)[:-1], "void")
        scene.label((self.left + start * self.scale, self.axis + self.outer + _FIN + 11), "cooler", anchor="start",
                    style="small")  # fmt: skip
