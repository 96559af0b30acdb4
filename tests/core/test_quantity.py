import copy
import math
import pickle

import numpy as np
import pytest
import sympy as sp
from augerbook.chapters import whole_head
from augerbook.core.quantity import Choice, Lookup, Quantity, Series
from augerbook.core.units import to_si
from hypothesis import given
from hypothesis import strategies as st


def quantity(key: str = "tip_gap", notation: str = "s_tip", unit: str = "mm", **more: object) -> Quantity:
    return Quantity(key, notation, unit, "a gap", **more)


def test_it_is_a_symbol_that_carries_its_unit() -> None:
    gap = quantity(low=0.1, high=2, digits=4, part="tube", primary=True, owner="screw")
    assert isinstance(gap, sp.Symbol) and gap.name == "tip_gap"
    assert (gap.unit, gap.low, gap.high, gap.digits) == ("mm", 0.1, 2, 4)
    assert (gap.part, gap.primary, gap.owner, gap.meaning) == ("tube", True, "screw", "a gap")
    assert sp.diff(gap**2, gap) == 2 * gap
    assert gap.name_in_words == "tip gap" and str(gap) == "tip_gap"


def test_positive_is_known_only_where_the_range_or_the_author_says_so() -> None:
    assert quantity(low=0.1, high=2).is_positive
    assert quantity(low=0, high=2).is_positive is None
    assert quantity(positive=True).is_positive
    assert quantity(nonnegative=True).is_nonnegative and quantity(nonnegative=True).is_positive is None
    assert quantity().is_nonnegative is None
    assert quantity().is_positive is None and quantity().is_real
    # -40 degrees is above absolute zero: the SI value, which formulas see, is positive.
    assert quantity(unit="degC", low=-40, high=300).is_positive


@pytest.mark.parametrize("key", ["Tip", "tip gap", "2nd", "_x", "", "größe"])
def test_a_key_that_is_no_plain_name_is_refused(key: str) -> None:
    with pytest.raises(ValueError, match="lower case letters"):
        quantity(key)


@pytest.mark.parametrize("ends", [{"low": 1.0}, {"high": 1.0}, {"low": 2.0, "high": 1.0}, {"low": 1.0, "high": 1.0}])
def test_half_a_range_is_refused(ends: dict[str, float]) -> None:
    with pytest.raises(ValueError, match="both ends of the range"):
        quantity(**ends)


def test_a_copy_and_an_unpickled_one_are_the_same_symbol() -> None:
    gap = quantity(low=0.1, high=2, digits=4)
    assert copy.copy(gap) is gap and copy.deepcopy(gap) is gap
    again = pickle.loads(pickle.dumps(gap))
    assert again == gap and hash(again) == hash(gap) and again.unit == "mm" and again.digits == 4
    expression = pickle.loads(pickle.dumps(sp.sqrt(gap) + 1))
    assert expression == sp.sqrt(gap) + 1


def test_it_is_no_plain_symbol_of_the_same_name() -> None:
    assert quantity() != sp.Symbol("tip_gap", real=True)


@given(st.floats(-200, 1000))
def test_shown_and_si_undo_each_other(shown: float) -> None:
    for unit in ("mm", "degC", "percent", "1/min", "deg"):
        q = quantity(unit=unit)
        assert q.shown(q.si(shown)) == pytest.approx(shown, abs=1e-9)


def test_conversion_takes_arrays() -> None:
    np.testing.assert_allclose(quantity().si(np.array([1.0, 2.0])), [0.001, 0.002])


@pytest.mark.parametrize(
    ("notation", "latex", "plain"),
    [
        ("d", "d", "d"),
        ("d_c", "d_{c}", "d_c"),
        ("theta_tip", r"\theta_{\mathrm{tip}}", "θ_tip"),
        ("T_stall_max", r"T_{\mathrm{stall},\mathrm{max}}", "T_stall_max"),
        ("x_mu", r"x_{\mu}", "x_μ"),
    ],
)
def test_notation(notation: str, latex: str, plain: str) -> None:
    q = quantity(notation=notation)
    assert (q.latex_notation, q.plain_notation) == (latex, plain)
    assert sp.latex(2 * q) == f"2 {latex}"


@pytest.mark.parametrize(
    ("low", "high", "step"), [(2, 16, 0.02), (0, 1, 0.002), (0, 200, 0.5), (0.02, 0.42, 0.001), (0, 1e6, 2000)]
)
def test_a_slider_step_is_round(low: float, high: float, step: float) -> None:
    assert quantity(low=low, high=high).step == pytest.approx(step)


def test_every_slider_moves_smoothly_and_its_ends_can_be_reached() -> None:
    for q in whole_head().inputs:
        assert 250 <= (q.high - q.low) / q.step <= 1001, q.key


def test_a_result_has_no_slider_step() -> None:
    with pytest.raises(ValueError, match="has no range"):
        _ = quantity().step


@pytest.mark.parametrize(
    ("unit", "si", "text", "latex"),
    [
        ("mm", 0.006, "6.00 mm", r"6.00\,\mathrm{mm}"),
        ("deg", math.radians(30), "30.0°", r"30.0\mathrm{^{\circ}}"),
        ("percent", 0.123, "12.3 %", r"12.3\,\mathrm{\%}"),
        ("1", 0.35, "0.350", "0.350"),
        ("degC", 473.15, "200 °C", r"200\,\mathrm{{}^{\circ}C}"),
        ("m", 1.5e-8, "1.50e-8 m", r"1.50 \cdot 10^{-8}\,\mathrm{m}"),
        ("mm", math.nan, "not defined", r"\text{not defined}"),
        ("N", math.inf, "unlimited", r"\text{unlimited}"),
    ],
)
def test_a_value_is_shown_with_its_unit(unit: str, si: float, text: str, latex: str) -> None:
    q = quantity(unit=unit)
    assert (q.text(si), q.latex_value(si)) == (text, latex)


@pytest.mark.parametrize(
    ("unit", "label"),
    [
        ("mm", "gap (mm)"),
        ("N*m", "gap (N·m)"),
        ("mm**3/s", "gap (mm³/s)"),
        ("degC", "gap (°C)"),
        ("percent", "gap (%)"),
        ("1", "gap"),
    ],
)
def test_the_words_of_an_axis_end_with_the_unit_that_there_is(unit: str, label: str) -> None:
    assert quantity(unit=unit).axis("gap") == label


def test_digits_can_be_asked_for() -> None:
    assert quantity().text(0.0012345, digits=5) == "1.2345 mm"
    assert quantity().latex_value(0.0012345, digits=5) == r"1.2345\,\mathrm{mm}"


def test_choices_lookups_and_series_have_names_in_words() -> None:
    gap = quantity()
    choice = Choice("plate_held", "how", {"bolts": "by bolts"}, part="plate")
    lookup = Lookup("standard_screw", "which", "screws", {gap: "pitch"}, part="screw")
    series = Series("sieve_shares", "shares", (gap,), part="feedstock", check=lambda column: [])
    assert [item.name_in_words for item in (choice, lookup, series)] == [
        "plate held", "standard screw", "sieve shares",
    ]  # fmt: skip
    assert [repr(item) for item in (choice, lookup, series)] == [
        "Choice('plate_held')", "Lookup('standard_screw')", "Series('sieve_shares')",
    ]  # fmt: skip


def test_a_title_takes_the_place_of_the_key_and_travels_with_it() -> None:
    gap = quantity(title="gap over the tips")
    assert gap.name_in_words == "gap over the tips" == pickle.loads(pickle.dumps(gap)).name_in_words


def test_no_two_quantities_have_one_name() -> None:
    names = [q.name_in_words for q in whole_head().quantities.values()]
    assert len(names) == len(set(names))


def test_the_zero_of_a_scale_is_zero_though_typed_in_another_unit() -> None:
    warmth = quantity("warmth", "T", "degC", low=-40, high=400)
    si = to_si(32.0, "degF", "degC")
    assert warmth.shown(si) != 0  # so it comes out of floating point
    assert warmth.text(si) == "0 °C" and warmth.latex_value(si).startswith("0")


def test_digits_tell_one_value_from_another() -> None:
    ratio = quantity("ratio", "r", "1", low=0, high=10)
    assert ratio.text(1.004, digits=ratio.digits_apart(1.004, 2.0, 1.0)) == "1.004"
    assert ratio.digits_apart(1.5, 1.0) == ratio.digits_apart(1.0, 1.0) == ratio.digits_apart(1.0, 1.0 + 1e-9) == 3
    assert quantity("tilt", "t", "deg", low=5, high=70).range_text == "5 to 70°"
    with pytest.raises(ValueError, match="has no range"):
        _ = quantity().range_text
    assert quantity(low=5, high=70).limits == (5, 70)
