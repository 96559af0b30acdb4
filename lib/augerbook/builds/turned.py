"""Which inputs of a build a builder decides, as against what is found in a table of materials or only roughly known."""

from __future__ import annotations

from augerbook.builds.build import Build
from augerbook.core.quantity import Quantity

#: The part whose values are properties of the plastic, and the tables whose columns are sizes, which a builder decides.
MATERIAL, SIZES = "plastic", frozenset({"screws", "sieves"})


def can_be_turned(build: Build) -> list[Quantity]:
    """Return the inputs that a builder decides: no constants of material or bearing, and nothing within a spread.

    What a table only recommends (a temperature to dry at) is decided all the same: such inputs are primary ones.
    """
    constants = {q for lookup in build.network.lookups.values() if lookup.table not in SIZES for q in lookup.fills}
    given = [q for q in build.values if isinstance(q, Quantity) and q not in build.ends]
    return [q for q in given if q.part != MATERIAL and (q.primary or q not in constants)]
