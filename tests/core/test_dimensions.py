import pytest
import sympy as sp
from augerbook.core.dimensions import DimensionError, check_condition, dimension_of
from augerbook.core.quantity import Quantity
from augerbook.core.units import dimensionality

a = Quantity("a", "a", "mm", "a length")
b = Quantity("b", "b", "mm", "a length", positive=True)
force = Quantity("force", "F", "N", "a force")
angle = Quantity("angle", "alpha", "deg", "an angle")
ratio = Quantity("ratio", "x", "percent", "a share")
warm = Quantity("warm", "T", "degC", "a temperature")
warmer = Quantity("warmer", "dT", "delta_degC", "a difference")
speed = Quantity("speed", "N", "1/min", "turns a minute")


@pytest.mark.parametrize(
    ("expression", "unit"),
    [
        (a + 2 * b, "m"),
        (a * b * force, "N*m**2"),
        (force / a, "N/m"),
        (sp.sqrt(a * b), "m"),
        (b ** sp.Rational(3, 2) / b, "m**0.5"),
        (sp.sin(angle) + ratio + 1, "1"),
        (sp.exp(-a / b), "1"),
        (ratio**ratio, "1"),
        (sp.pi * a / 3, "m"),
        (sp.Max(a, b, 0), "m"),
        (sp.Min(a, sp.oo), "m"),
        (sp.Abs(a - b), "m"),
        (sp.Piecewise((a, ratio < 1), (0, True)), "m"),
        (warm + warmer, "K"),
        (2 * sp.pi * speed, "1/s"),
        (sp.Integer(0), "1"),
    ],
)
def test_the_dimension_follows_from_the_equation(expression: sp.Expr, unit: str) -> None:
    assert dimension_of(expression) == dimensionality(unit)


@pytest.mark.parametrize(
    ("expression", "message"),
    [
        (a + force, "parts of .* have different dimensions"),
        (a + 1, "different dimensions"),
        (sp.Max(a, force), "different dimensions"),
        (sp.Piecewise((a, ratio < 1), (force, True)), "different dimensions"),
        (sp.Piecewise((a, a < force), (b, True)), "different dimensions"),
        (sp.sin(a), "the argument of .* has a dimension"),
        (sp.log(b), "the argument of .* has a dimension"),
        (2**a, "the exponent of .* has a dimension"),
        (b**ratio, "a power that is not a fixed fraction"),
        (a + sp.Symbol("x"), "x is a bare symbol"),
        (sp.Function("f")(ratio), "no rule for the dimension"),
        (sp.Integral(a, a), "no rule for the dimension"),
    ],
)
def test_what_does_not_fit_is_said(expression: sp.Expr, message: str) -> None:
    with pytest.raises(DimensionError, match=message):
        dimension_of(expression)


def test_conditions_compare_what_fits() -> None:
    check_condition(a < b)
    check_condition(a > 0)
    check_condition(sp.And(a < b, sp.Or(ratio <= 1, sp.Ne(a, b))))
    check_condition(sp.true)
    with pytest.raises(DimensionError):
        check_condition(sp.And(a < b, ratio < a))
    with pytest.raises(DimensionError):
        check_condition(a < 1)
