"""A condition that fails, in figures: what stands against what."""

from __future__ import annotations

import math
from collections.abc import Mapping
from functools import cache
from typing import Any

import sympy as sp
from sympy.logic.boolalg import Boolean

from augerbook.core.compiled import compiled
from augerbook.core.quantity import Quantity

_MUST = {
    sp.StrictLessThan: "must be below", sp.LessThan: "must not exceed",
    sp.StrictGreaterThan: "must be above", sp.GreaterThan: "must be at least",
}  # fmt: skip


def in_figures(condition: Boolean, values: Mapping[Any, Any]) -> str:
    """Say what fails in ``condition`` at SI ``values``: ``"bore diameter 5.00 mm must be above 6.00 mm"``.

    Where no side of a comparison is a single quantity, the values of all that are compared are named.
    """
    if isinstance(condition, sp.And):
        return "; ".join(in_figures(part, values) for part in condition.args if not holds(part, values))
    relational = next((kind for kind in _MUST if isinstance(condition, kind)), None)
    if relational is None:
        return _named(condition, values)
    side, other = condition.args
    if not isinstance(side, Quantity) and isinstance(other, Quantity):
        side, other = other, side
        relational = type(condition.reversed)
    if not isinstance(side, Quantity):
        return _named(condition, values)
    at, limit = float(values[side]), float(_at(other, values))
    if math.isnan(at):
        return f"{side.name_in_words} is {side.text(at)}"
    digits = side.digits_apart(at, limit)
    named = f"the {other.name_in_words} of " if isinstance(other, Quantity) else ""
    return (
        f"{side.name_in_words} {side.text(at, digits=digits)} {_MUST[relational]} "
        f"{named}{side.text(limit, digits=digits)}"
    )


def _named(condition: Boolean, values: Mapping[Any, Any]) -> str:
    found = sorted((q for q in condition.free_symbols if isinstance(q, Quantity)), key=lambda q: q.key)
    return ", ".join(f"{q.name_in_words} {q.text(float(values[q]))}" for q in found)


@cache
def _compiled(expression: sp.Basic) -> Any:
    symbols = tuple(sorted(expression.free_symbols, key=str))
    return symbols, compiled(symbols, expression)


def _at(expression: sp.Basic, values: Mapping[Any, Any]) -> Any:
    symbols, function = _compiled(expression)
    return function(*(values[symbol] for symbol in symbols))


def holds(condition: Boolean, values: Mapping[Any, Any]) -> bool:
    """Return whether ``condition`` holds at SI ``values``."""
    return bool(_at(condition, values))
