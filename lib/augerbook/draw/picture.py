"""A picture of the head or of a part of it: what it needs to be known, and how it is drawn."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
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


#: What has no value is named up to so many: one of them is mostly why the others have none.
_NAMED = 3


class UndrawableError(ValueError):
    """A picture cannot be drawn; the message says why, in words for whoever looks at it."""


def undrawable(solution: Solution, needs: Sequence[Quantity]) -> UndrawableError:
    """Return what to say where drawing failed: arithmetic and scenes name numbers that nobody has seen.

    Raises:
        ValueError: a model has no value for what is needed; it says why itself.
    """
    without = [quantity.name_in_words for quantity in needs if not math.isfinite(solution[quantity])]
    return UndrawableError(
        f"there is no value for the {', nor for the '.join(without[:_NAMED])}" if without
        else "one of its sizes has no value, or is larger than a picture can show"
    )  # fmt: skip


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
        """Draw it.

        Raises:
            UndrawableError: it has a size without a value; the message says it in plain words.
        """
        try:
            return self.draw(solution, variant or self.variants[0]) if self.variants else self.draw(solution)
        except (ValueError, ArithmeticError) as error:
            raise undrawable(solution, self.needs) from error
