"""The dimension of a SymPy expression, worked out from the equation itself."""

from __future__ import annotations

from fractions import Fraction

import sympy as sp
from pint.util import UnitsContainer
from sympy.core.function import AppliedUndef
from sympy.core.relational import Relational
from sympy.functions.elementary.piecewise import Piecewise
from sympy.logic.boolalg import BooleanFunction

from augerbook.core.quantity import Quantity
from augerbook.core.units import dimensionality

_NONE = UnitsContainer()


class DimensionError(ValueError):
    """An equation that adds, compares or exponentiates what does not fit."""


def dimension_of(expression: sp.Basic) -> UnitsContainer:
    """Return the dimension of ``expression`` as a pint container (empty when dimensionless).

    Raises:
        DimensionError: terms of a sum differ, a function argument or exponent has a dimension, or a
            symbol is not a quantity.
    """
    if isinstance(expression, Quantity):
        return dimensionality(expression.unit)
    if isinstance(expression, sp.Number | sp.NumberSymbol):
        return _NONE
    if isinstance(expression, sp.Symbol):
        raise DimensionError(f"{expression} is a bare symbol, not a quantity")
    if isinstance(expression, sp.Add | sp.Max | sp.Min | sp.Abs):
        return _common(expression.args, expression)
    if isinstance(expression, sp.Mul):
        product = _NONE
        for factor in expression.args:
            product = product * dimension_of(factor)
        return product
    if isinstance(expression, sp.Pow):
        return _power(expression)
    if isinstance(expression, Piecewise):
        for _, condition in expression.args:
            check_condition(condition)
        return _common([branch for branch, _ in expression.args], expression)
    if isinstance(expression, sp.Function) and not isinstance(expression, AppliedUndef):
        for argument in expression.args:
            if dimension_of(argument) != _NONE:
                raise DimensionError(f"the argument of {expression} has a dimension")
        return _NONE
    raise DimensionError(f"no rule for the dimension of {expression}")


def check_condition(condition: sp.Basic) -> None:
    """Check that both sides of every comparison in ``condition`` have one dimension.

    Raises:
        DimensionError: they differ.
    """
    if isinstance(condition, Relational):
        _common([side for side in condition.args if side != 0], condition)
    elif isinstance(condition, BooleanFunction):
        for part in condition.args:
            check_condition(part)


def _common(parts: list[sp.Basic] | tuple[sp.Basic, ...], whole: sp.Basic) -> UnitsContainer:
    # Zero and infinity have no dimension of their own: Max(0, length) is a length.
    found = [dimension_of(part) for part in parts if part not in (sp.S.Zero, sp.S.Infinity)]
    if any(other != found[0] for other in found[1:]):
        raise DimensionError(f"parts of {whole} have different dimensions")
    return found[0] if found else _NONE


def _power(expression: sp.Pow) -> UnitsContainer:
    base, exponent = expression.args
    dimension = dimension_of(base)
    if dimension_of(exponent) != _NONE:
        raise DimensionError(f"the exponent of {expression} has a dimension")
    if dimension == _NONE:
        return _NONE
    if not exponent.is_Rational:
        raise DimensionError(f"{expression} raises a dimension to a power that is not a fixed fraction")
    result: UnitsContainer = dimension ** Fraction(int(exponent.p), int(exponent.q))
    return result
