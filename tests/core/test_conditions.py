import pytest
from augerbook.core.conditions import in_figures
from augerbook.core.quantity import Quantity
from sympy import And, Max, Or, pi
from sympy.logic.boolalg import Boolean

rod = Quantity("rod", "d", "mm", "rod", low=1, high=50)
bore = Quantity("bore", "D", "mm", "bore", low=1, high=50)
heat = Quantity("heat", "T", "degC", "heat", low=0, high=400)
bears = Quantity("bears", "T_b", "degC", "what it bears", low=0, high=400)
share = Quantity("share", "x", "percent", "share")
VALUES = {rod: 0.006, bore: 0.005, heat: 623.15, bears: 513.15, share: 0.30004}


@pytest.mark.parametrize(
    ("condition", "words"),
    [
        (rod < bore, "rod 6.00 mm must be below the bore of 5.00 mm"),
        (bore > rod, "bore 5.00 mm must be above the rod of 6.00 mm"),
        (heat <= bears, "heat 350 °C must not exceed the bears of 240 °C"),
        (bore >= 2 * rod, "bore 5.00 mm must be at least 12.0 mm"),
        (Max(2 * rod, bore) <= bore, "bore 5.00 mm must be at least 12.0 mm"),
        (share <= 0.3, "share 30.004 % must not exceed 30.000 %"),
        (2 * rod < pi * bore / 4, "bore 5.00 mm, rod 6.00 mm"),
        (And(rod > 0.001, rod < bore), "rod 6.00 mm must be below the bore of 5.00 mm"),
        (Or(rod < bore, heat < bears), "bears 240 °C, bore 5.00 mm, heat 350 °C, rod 6.00 mm"),
    ],
)
def test_a_condition_that_fails_is_told_with_value_and_limit(condition: Boolean, words: str) -> None:
    assert in_figures(condition, VALUES) == words


def test_what_is_not_defined_is_held_against_no_limit() -> None:
    assert in_figures(rod > bore / 2, VALUES | {rod: float("nan")}) == "rod is not defined"
