import math
import re

import pytest
import sympy as sp
from augerbook.core.example import WorkedExample, fingerprint, work_out
from augerbook.core.formulas import latex_formula, plain_formula
from augerbook.core.quantity import Quantity
from augerbook.core.sources import Source
from augerbook.core.spread import small_steps
from sympy import Abs, Max, Min, Piecewise, Rational, pi, sqrt, tan

from tests.core.barrel import (
    CHOICES,
    NETWORK,
    VALUES,
    emptying_time,
    filling,
    flow,
    level,
    mean_flow,
    section,
    shape,
    square_section,
    tap_bore,
    thinness,
    water_volume,
    width,
)
from tests.core.toy import Toy, network_of

d = Quantity("rod_diameter", "d", "mm", "diameter", low=1, high=50)
b = Quantity("rod_bore", "d_b", "mm", "bore", low=1, high=50)
angle = Quantity("rod_angle", "alpha", "deg", "lean", low=0, high=90)
ratio = Quantity("rod_ratio", "mu_s", "1", "friction")
BLOCK = "format = 1\nname = 'toy'\n"
pin = Quantity("pin_pitch", "p_pin", "mm", "a name with pi in it")


@pytest.mark.parametrize(
    ("formula", "plain", "latex"),
    [
        (-b + d, "d - d_b", "d - d_{b}"),
        (1 - ratio * tan(angle), "1 - μ_s·tan(α)", r"1 - \mu_{s} \tan{\left(\alpha \right)}"),
        (-d, "-d", "- d"),
        (pi * d**2 / 4, "π·d²/4", r"\frac{\pi d^{2}}{4}"),
        (d**12, "d^12", "d^{12}"),
        (sqrt(d + b), "√(d_b + d)", r"\sqrt{d_{b} + d}"),
        (d ** Rational(3, 2), "d^(3/2)", r"d^{\frac{3}{2}}"),
        (Max(d, b), "max(d_b, d)", r"\max\left(d_{b}, d\right)"),
        (Min(d, 2 * b), "min(2·d_b, d)", r"\min\left(2 d_{b}, d\right)"),
        (Abs(ratio), "|μ_s|", r"\left|{\mu_{s}}\right|"),
        (pin / 2, "p_pin/2", r"\frac{p_{\mathrm{pin}}}{2}"),
        (Piecewise((d, ratio < 1), (sp.oo, True)), "{d if μ_s < 1; ∞ otherwise}",
         r"\begin{cases} d & \text{for}\: \mu_{s} < 1 \\\infty & \text{otherwise} \end{cases}"),
        (Piecewise((d, ratio >= 1), (b, True)), "{d if μ_s ≥ 1; d_b otherwise}",
         r"\begin{cases} d & \text{for}\: \mu_{s} \geq 1 \\d_{b} & \text{otherwise} \end{cases}"),
    ],
)  # fmt: skip
def test_formulas_are_written_as_a_person_would(formula: sp.Expr, plain: str, latex: str) -> None:
    assert plain_formula(formula) == plain
    assert latex_formula(formula) == latex


def test_numbers_that_sympy_worked_out_end_somewhere() -> None:
    term = (sp.Float("0.492") / d) ** Rational(9, 16)
    assert plain_formula(term) == "0.671012/d^(9/16)"
    assert latex_formula(term) == r"\frac{0.671012}{d^{\frac{9}{16}}}"
    assert plain_formula(sp.Float("0.0571322") * d) == "0.0571322·d"


def test_values_stand_in_brackets_only_where_they_must() -> None:
    values = {d: "6.00 mm", b: "-2.00 mm", angle: "30.0°", ratio: "0.350"}
    assert plain_formula(2 * d * tan(angle), values) == "2·(6.00 mm)·tan(30.0°)"
    assert plain_formula(d**2 + d, values) == "(6.00 mm)² + 6.00 mm"
    assert plain_formula(1 - 2 * d, values) == "1 - 2·(6.00 mm)"
    assert plain_formula(b / 3 - d / 2, {b: "3.00 mm", d: "6.00 mm"}) == "(3.00 mm)/3 - (6.00 mm)/2"
    assert plain_formula(d - b, values) == "6.00 mm - (-2.00 mm)"
    assert plain_formula(ratio * d / b, values) == "(6.00 mm)·0.350/(-2.00 mm)"
    assert plain_formula(b * d, values) == "(-2.00 mm)·(6.00 mm)"
    assert plain_formula(sqrt(b + d), values) == "√((-2.00 mm) + 6.00 mm)"
    assert plain_formula(Abs(ratio), {ratio: "-0.350"}) == "|(-0.350)|"
    assert plain_formula(tan(ratio), {ratio: "-0.350"}) == "tan(-0.350)"
    assert plain_formula(Max(ratio, 0), values) == "max(0, 0.350)"


def test_values_in_latex_too() -> None:
    mm = r"6.00\,\mathrm{mm}"
    values = {d: mm, angle: r"30.0\mathrm{^{\circ}}", ratio: "0.350", b: r"-2\,\mathrm{mm}"}
    assert latex_formula(2 * d * tan(angle), values) == (
        rf"2 \left({mm}\right) \tan{{\left(30.0\mathrm{{^{{\circ}}}} \right)}}"
    )
    assert latex_formula(d**2, values) == rf"\left({mm}\right)^{{2}}"
    assert latex_formula(d / 2, values) == rf"\frac{{{mm}}}{{2}}"
    assert latex_formula(d + ratio * d, values) == rf"\left({mm}\right) \left(0.350\right) + {mm}"
    assert latex_formula(d + b, values) == rf"\left(-2\,\mathrm{{mm}}\right) + {mm}"
    assert latex_formula(d - b, values) == rf"{mm} - \left(-2\,\mathrm{{mm}}\right)"


FOLLOWS_FROM = """\
water_volume
level = ['600'] mm
shape = round
width = ['500'] mm"""


def example(
    quantity: Quantity, values: dict | None = None, choices: dict | None = None, **more: object
) -> WorkedExample:
    more = {"version": "9.9", "build_name": "toy (invented)", "build_block": BLOCK} | more
    return work_out(NETWORK, quantity, values or VALUES, CHOICES if choices is None else choices, **more)


def test_an_example_reads_from_the_result_to_the_build() -> None:
    assert (
        example(water_volume).markdown()
        == f"""\
**Water volume: 118 dm³**

Build: toy (invented)

**What goes in**

- `A = 1963 cm²`: section of the barrel (from barrel.section)
- `z = 600 mm`: height of the water

**A prism of water** (`barrel.water_volume`)

- `V = z·A`
- `V = (600 mm)·(1963 cm²)`
- `V = 118 dm³`

Depends most on width +1 %: +2.0 %; level +1 %: +1.0 %.

Assumes: the walls are upright.

Source: definition.

Example `barrel.water_volume:{fingerprint(FOLLOWS_FROM)}`, augerbook 9.9. The build, to paste on the start page:

```toml
{BLOCK}```
"""
    )


def test_the_other_forms_hold_the_same() -> None:
    one = example(flow, {**VALUES, tap_bore: 0.2})
    markdown = one.markdown()
    assert "**Warning:** barrel.jet_speed" in markdown
    bare = re.sub(r"\*\*|`", "", markdown.replace("```toml\n", "").replace("```\n", ""))
    assert one.text() == bare
    marked = re.sub(r"\*\*(.*?)\*\*", r"[b]\1[/b]", markdown).replace("```toml", "[code]").replace("```", "[/code]")
    assert one.bbcode() == marked.replace("`", "")
    assert repr(one) == one.text().partition(" The build, to paste")[0]


def test_the_notebook_shows_latex_and_no_build() -> None:
    shown = example(water_volume)._repr_markdown_()
    assert r"| $A$ | 1963 cm² | section of the barrel (from barrel.section) |" in shown
    assert r"$$V = z A$$" in shown
    assert r"$$V = \left(600\,\mathrm{mm}\right) \left(1963\,\mathrm{cm^{2}}\right) = 118\,\mathrm{dm^{3}}" in shown
    assert "format = 1" not in shown


def test_the_whole_chain_starts_from_what_is_given() -> None:
    one = example(water_volume, whole_chain=True)
    assert [step.id for step in one.steps] == ["barrel.round_section", "barrel.section", "barrel.water_volume"]
    assert [symbol for symbol, *_ in one.given] == ["w", "z"]
    assert all("(from " not in meaning for *_, meaning in one.given)
    assert one.steps[1].formula == "A = A_o, as shape is round"


def test_an_example_of_a_choice_shows_the_relation_behind_it() -> None:
    assert [step.id for step in example(section).steps] == ["barrel.round_section", "barrel.section"]
    measured = {**VALUES, square_section: 0.3}
    assert [step.id for step in example(section, measured, {shape: "square"}).steps] == ["barrel.section"]


def test_a_reader_who_computes_along_gets_the_result() -> None:
    one = example(flow, whole_chain=True)
    jet, bore = one.steps[0].result, one.given[0]
    assert bore[:1] + bore[2:3] == ("d_tap", "20.0 mm")
    assert jet == "v_jet = 3.431 m/s"
    assert one.steps[1].substituted == "Q = π·(3.431 m/s)·(20.0 mm)²/4"
    by_hand = math.pi * 2.0**2 * 343.1 / 4
    assert float(one.result.removesuffix(" cm³/s")) == pytest.approx(by_hand, rel=5e-4)


@pytest.mark.parametrize(("value", "shown"), [(0.5, "500 mm"), (0.50025, "500.25 mm"), (0.5 / 3, "166.667 mm")])
def test_what_is_given_stands_as_it_was_given(value: float, shown: str) -> None:
    (given,) = [text for symbol, _, text, _ in example(water_volume, {**VALUES, width: value}, whole_chain=True).given
                if symbol == "w"]  # fmt: skip
    assert given == shown


def test_a_model_is_said_to_be_solved() -> None:
    (step,) = example(emptying_time).steps
    assert step.formula == "solved numerically" and step.substituted == ""
    assert step.result == "t = 3.64 min; Q_mean = 538.9 cm³/s"


def test_temperatures_inside_formulas_are_absolute_and_move_by_degrees() -> None:
    one = example(thinness)
    assert one.given[0][2] == "26.85 °C"
    assert "300.0 K" in one.steps[0].substituted and "°C" not in one.steps[0].substituted
    assert one.depends == "Depends most on water temperature +1 °C: +0.33 %."


def test_what_a_builder_can_turn_is_told_apart_from_what_is_only_roughly_known() -> None:
    one = example(water_volume, ends={width: (0.45, 0.55)}, steps=small_steps(level, VALUES[level]))
    assert one.depends == (
        "Of what can be changed it depends most on level +1 %: +1.0 %. Its spread comes most from width (100 %)."
    )
    assert example(water_volume, steps=[]).depends == ""
    exact = example(water_volume, ends={level: (0.6, 0.6)}, steps=small_steps(width, VALUES[width]))
    assert "spread" not in exact.depends


def test_the_spread_of_the_inputs_is_told_with_the_result() -> None:
    assert example(filling, ends={level: (0.5, 0.8)}).result == (
        "60.0 % (with the spread of the inputs 50.0 % to 80.0 %)"
    )
    assert example(filling, ends={tap_bore: (0.01, 0.03)}).result == "60.0 %"


def test_a_condition_that_fails_further_up_is_told_with_the_last_step() -> None:
    wide = example(flow, {**VALUES, tap_bore: 0.2})
    assert [step.id for step in wide.steps] == ["barrel.flow"]
    assert wide.warnings == ("barrel.jet_speed: so wide a tap makes the surface sink as fast as the jet",)
    assert "**Warning:** barrel.jet_speed: so wide" in wide.markdown()
    assert example(filling, {**VALUES, tap_bore: 0.2}).warnings == ()


def test_what_cannot_be_worked_out_is_said() -> None:
    with pytest.raises(ValueError, match="flow needs level, tap bore"):
        example(flow, {width: 0.5})
    with pytest.raises(ValueError, match="level is given in this build"):
        example(level)
    with pytest.raises(ValueError, match="level needs level"):
        example(level, {width: 0.5})


def test_the_id_tells_relation_and_build() -> None:
    one = example(filling)
    assert re.fullmatch(r"barrel\.filling:[0-9a-f]{8}", one.id)
    for same in (
        example(filling, build_block="format = 1\n\n[barrel]\n"),
        example(filling, {**VALUES, tap_bore: 0.01}),
    ):
        assert same.id == one.id  # what the result does not follow from leaves its id as it is
    level_spread = {level: (0.9 * VALUES[level], 1.1 * VALUES[level])}
    for other in (example(filling, {**VALUES, level: 0.61}), example(filling, ends=level_spread)):
        assert other.id != one.id and other.id.split(":")[0] == one.id.split(":")[0]
    assert len({example(water_volume, choices={shape: kind}).id for kind in ("round", "square")}) == 2
    assert example(emptying_time).id != example(mean_flow).id  # two results of one model


def test_two_quantities_with_one_symbol_are_told_apart_by_their_chapter() -> None:
    one, two = (Toy(name, number=i, title=name, question="?") for i, name in enumerate(("hot", "cold")))
    gap = one.given("gap", "g", "mm", "a gap", 1, 2)
    pull = two.given("pull", "g", "mm", "a pull", 1, 2)
    both = two.result("both", "G_x", "mm", "both")
    two.relation("both", both, gap + 2 * pull, "Both together", source=Source("definition"))
    shown = work_out(
        network_of(one, two), both, {gap: 0.001, pull: 0.002}, version="1", build_name="b", build_block=BLOCK
    )  # fmt: skip
    assert [symbol for symbol, *_ in shown.given] == ["g_cold", "g_hot"]
    assert shown.steps[0].formula == "G_x = g_hot + 2·g_cold"
    assert shown.steps[0].latex_formula == r"G_{x} = g_{\mathrm{hot}} + 2 g_{\mathrm{cold}}"
    assert shown.steps[0].substituted == "G_x = 1.00 mm + 2·(2.00 mm)"


def test_sources_are_spelled_out_once() -> None:
    one = example(water_volume, whole_chain=True, cite=lambda source: f"the book of {source.key}")
    assert one.sources == ("the book of definition",)


def test_what_is_not_defined_has_no_unit_and_breaks_no_formula() -> None:
    subject = Toy("edge", number=1, title="Edge", question="?")
    x = subject.given("x", "x", "mm", "x", -2, 2)
    root = subject.result("root", "y", "mm**0.5", "root")
    subject.relation("root", root, sqrt(x), "root", source=Source("definition"))
    one = work_out(
        network_of(subject), root, {x: -0.001}, version="1", build_name="b", build_block="format = 1\n"
    )  # fmt: skip
    assert one.result == "not defined" and one.steps[0].substituted == "y = √(-1.00 mm)"
