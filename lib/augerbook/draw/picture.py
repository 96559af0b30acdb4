"""A picture of the head or of a part of it: what it needs to be known, and how it is drawn."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Protocol

from augerbook.core.network import Solution
from augerbook.core.quantity import Quantity


class Drawn(Protocol):
    """What can be shown alive (SVG) and still (PNG): a scene to scale, or a graph."""

    alt: str

    def svg(self) -> str:
        """Return it as SVG."""

    def png(self) -> bytes:
        """Return it as PNG."""


@dataclass(frozen=True)
class Picture:
    """A drawing that follows from a build.

    Attributes:
        title: for the tab or heading above it.
        needs: what must be known for it to be drawn.
        draw: from a solution and a named variant to a scene or a graph.
        variants: names of the ways it can be shown, the first as default; empty for one way only.
        opens: whether the start page opens with it.
    """

    title: str
    needs: tuple[Quantity, ...]
    draw: Callable[..., Drawn]
    variants: tuple[str, ...] = field(default=())
    opens: bool = False

    def missing(self, solution: Solution) -> str:
        """Say what is needed to draw it, empty when nothing lacks."""
        return solution.why_missing(*self.needs)

    def scene(self, solution: Solution, variant: str = "") -> Drawn:
        """Draw it."""
        return self.draw(solution, variant or self.variants[0]) if self.variants else self.draw(solution)
