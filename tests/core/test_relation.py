import math

import numpy as np
import pytest
import sympy as sp
from augerbook.core.dimensions import DimensionError
from augerbook.core.quantity import Choice, Quantity
from augerbook.core.relation import Model, Relation, Select, Validity, quantities_in
from augerbook.core.sources import Source
from augerbook.core.units import UnitError, ureg
from hypothesis import given
from hypothesis import strategies as st

HERE = Source("derived here")
diameter = Quantity("rod_diameter", "d", "mm", "diameter of a rod", low=1, high=50)
length = Quantity("rod_length", "l", "mm", "length of a rod", low=10, high=2000)
angle = Quantity("rod_angle", "alpha", "deg", "lean of a rod", low=0, high=90)
volume = Quantity("rod_volume", "V", "mm**3", "volume of a rod", positive=True)
shadow = Quantity("rod_shadow", "s", "mm", "length of its shadow")


def relation(lhs: Quantity, rhs: sp.Expr, **more: object) -> Relation:
    return Relation("rod.toy", lhs, rhs, "a toy", source=HERE, **more)


cylinder = relation(volume, sp.pi * diameter**2 / 4 * length)


def test_quantities_come_in_the_order_of_their_keys() -> None:
    assert cylinder.inputs == (diameter, length) == quantities_in(length * diameter + length)
    assert cylinder.outputs == (volume,)


@given(st.floats(0.001, 0.05), st.floats(0.01, 2.0))
def test_it_computes_in_si(d: float, l: float) -> None:  # noqa: E741
    expected = math.pi / 4 * d * d * l
    assert cylinder.array(d, l)[0] == pytest.approx(expected)
    assert cylinder.si(rod_diameter=d, rod_length=l) == pytest.approx(expected)
    assert cylinder(rod_diameter=d * ureg.m, rod_length=l * ureg.m).to("m**3").magnitude == pytest.approx(expected)


def test_pint_goes_in_and_comes_out_in_the_shown_unit() -> None:
    found = cylinder(rod_diameter="2 cm", rod_length="0.1 m")
    assert str(found.units) == "millimeter ** 3"
    assert found.magnitude == pytest.approx(math.pi * 100 * 100)
    leaning = relation(shadow, length * sp.sin(angle))
    assert leaning(rod_length="1 m", rod_angle="30 deg").magnitude == pytest.approx(500)


def test_what_is_missing_too_many_or_of_another_dimension_is_said() -> None:
    with pytest.raises(TypeError, match=r"missing \['rod_length'\], unknown \['rod_colour'\]"):
        cylinder(rod_diameter="2 cm", rod_colour=3)
    with pytest.raises(UnitError):
        cylinder(rod_diameter="2 cm", rod_length="3 kg")
    leaning = relation(shadow, length * sp.sin(angle))
    with pytest.raises(UnitError, match="rod_angle has no unit, but a value in ° is expected"):
        leaning(rod_length="1 m", rod_angle=0.5)


def test_arrays_and_numbers_mix() -> None:
    larger = relation(shadow, sp.Max(length * sp.sin(angle), diameter))
    thick = larger.si(rod_diameter=np.array([0.1, 0.2]), rod_angle=0.0, rod_length=0.15)
    np.testing.assert_allclose(thick, [0.1, 0.2])
    tilted = larger.si(rod_diameter=0.1, rod_angle=np.array([0.0, np.pi / 2]), rod_length=0.15)
    np.testing.assert_allclose(tilted, [0.1, 0.15])


@pytest.mark.slow
def test_it_gives_back_each_of_its_quantities() -> None:
    assert cylinder.solve_for(volume) == [cylinder.rhs]
    (d,) = cylinder.solve_for(diameter)
    assert sp.simplify(d - 2 * sp.sqrt(volume / (sp.pi * length))) == 0
    with pytest.raises(ValueError, match=r"rod_angle does not occur in rod\.toy"):
        cylinder.solve_for(angle)
    with pytest.raises(ValueError, match="has no closed form for rod_length"):
        relation(shadow, length + diameter * sp.sin(length / diameter)).solve_for(length)


def test_its_sensitivity_is_the_elasticity() -> None:
    assert cylinder.sensitivity() == {diameter: 2, length: 1}


def test_latex_shows_the_equation_with_its_symbols() -> None:
    assert cylinder.latex() == r"V = \frac{\pi d^{2} l}{4}"


@pytest.mark.parametrize(
    ("lhs", "rhs"),
    [(volume, diameter * length), (shadow, length + 1), (shadow, length * sp.sin(length)), (shadow, length**angle)],
)
def test_a_wrong_dimension_is_found(lhs: Quantity, rhs: sp.Expr) -> None:
    with pytest.raises(DimensionError):
        relation(lhs, rhs).check_dimensions()


def test_the_dimension_of_its_validity_is_checked_too() -> None:
    cylinder.check_dimensions()
    relation(shadow, 0 * length).check_dimensions()
    with pytest.raises(DimensionError):
        relation(shadow, length, valid=((length < volume, "nonsense"),)).check_dimensions()


def test_validity_is_data() -> None:
    thin = Validity(diameter < length / 10, "it is no rod but a lump")
    assert thin.quantities == (diameter, length)
    assert thin.holds({diameter: 0.001, length: 1.0})
    assert not thin.holds({diameter: 0.5, length: 1.0})
    assert thin.holds({diameter: 0.5}) is None
    np.testing.assert_array_equal(thin.holds({diameter: np.array([0.001, 0.5]), length: 1.0}), [True, False])


def test_a_model_has_the_same_face() -> None:
    both = Model("rod.both", (diameter,), (volume, shadow), lambda d: (d**3, d), "two", source=HERE)
    assert both.array(2.0) == (8.0, 2.0)
    one = Model("rod.one", (diameter,), (volume,), lambda d: d**3, "one", source=HERE)
    assert one.array(2.0) == (8.0,)
    assert one.needs({}) == (diameter,) and repr(one) == "<rod.one>"


def test_a_model_that_returns_less_than_it_declares_is_caught() -> None:
    wrong = Model("rod.wrong", (diameter,), (volume, shadow), lambda d: (d,), "wrong", source=HERE)
    with pytest.raises(ValueError, match=r"rod\.wrong returns 1 results, but declares 2"):
        wrong.array(2.0)


kind = Choice("rod_kind", "kind", {"thick": "thick", "long": "long"}, part="rod")
either = Select("rod.either", shadow, kind, {"thick": diameter, "long": length}, "one of both")


def test_a_select_needs_only_its_branch() -> None:
    assert either.needs({kind: "long"}) == (length,)
    assert either.needs({}) == (diameter, length)
    assert either.array(0.3) == (0.3,)
    np.testing.assert_array_equal(either.array(np.array([1.0, 2.0]))[0], [1.0, 2.0])


def test_a_select_says_what_it_cannot_do() -> None:
    with pytest.raises(ValueError, match="rod kind 'wide' is not known: expected one of 'thick', 'long'"):
        either.needs({kind: "wide"})
    with pytest.raises(ValueError, match="choose rod kind first"):
        either.array(0.3, 0.4)
    with pytest.raises(ValueError, match="give one quantity for each of"):
        Select("rod.half", shadow, kind, {"thick": diameter}, "half")
    with pytest.raises(DimensionError, match="a branch is not in mm"):
        Select("rod.mixed", shadow, kind, {"thick": diameter, "long": volume}, "mixed")
