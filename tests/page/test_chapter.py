"""What chapters show: Markdown, and its plain form."""

import pytest
import sympy as sp
from augerbook.chapters import whole_head
from augerbook.chapters.heat import screw_radius
from augerbook.chapters.screw import core_gap, net_volume, share_outside
from augerbook.core.relation import Relation
from augerbook.head.hopper import cup_diameter
from augerbook.head.tube import bore_diameter
from augerbook.page.chapter import Markdown, _apart, check_table, confirm, exercise, quantities_that_matter

from tests.chapters.solving import changed


def test_a_short_text_is_its_own_plain_form() -> None:
    text = "| screw | pitch |\n|---|---|\n| M6 | 1 mm |"
    assert Markdown(text)._repr_markdown_() == repr(Markdown(text)) == text


def test_a_long_table_is_cut_at_a_line_and_says_how_much_is_left() -> None:
    lines = [f"| row {number} | {'x' * 40} |" for number in range(100)]
    text = Markdown("\n".join(lines))
    assert text._repr_markdown_() == "\n".join(lines)
    *shown, last = repr(text).splitlines()
    assert shown == lines[: len(shown)] and 5 < len(shown) < 40
    assert last == f"... and {100 - len(shown)} more lines"


def test_a_long_paragraph_is_not_cut_in_the_middle() -> None:
    assert repr(Markdown("word " * 1000)) == "word " * 1000


@pytest.mark.parametrize(
    ("derived", "said"),
    [
        (bore_diameter * sp.Symbol("x"), r"Put quantities of the library in the place of x\."),
        (bore_diameter / 4, r"In otter that is 0\.0019, and the derivation gives 0\.002 \(SI units\)\."),
        (bore_diameter - cup_diameter, r"The library has bore_diameter/2 - core_diameter/2\.$"),
    ],
)
def test_a_derivation_that_is_not_the_relation_is_told_what_is_amiss(derived: sp.Expr, said: str) -> None:
    with pytest.raises(AssertionError, match=rf"^screw\.core_gap: the derivation gives .*{said}"):
        confirm("screw.core_gap", derived)


def test_a_derivation_in_another_form_is_told_that_it_gives_the_same() -> None:
    shell = whole_head().nodes["heat.wall_shell"]
    assert isinstance(shell, Relation)
    derived = 2 * sp.pi / (sp.log(bore_diameter) - sp.log(bore_diameter / 2 + screw_radius))
    assert "so that they may differ in form alone" in _apart(shell, derived)


@pytest.mark.parametrize(
    ("answer", "said"),
    [
        (None, "Put your answer in place of `None`, a number in mm³ in quotation marks, and run the cell."),
        ("85.5 mm3", "**Right.**"),
        ("85,5", "**Right.**"),
        ("0.0855 cm**3", "**Right.**"),
        ("80 mm3", "**Not yet**: too small."),
        ("90 mm3", "**Not yet**: too large."),
        ("900 mm3", "**Not yet**: much too large."),
        (85.5, "**Right.**"),
        (900, "**Not yet**: much too large."),
        (float("nan"), "**No answer yet**: the text 'nan' is not a number with a unit."),
        ("85.5 mm", "**No answer yet**: the text '85.5 mm' "),
        ("many", "**No answer yet**: the text 'many' "),
        ("", "**No answer yet**: the text '' is empty: type a number."),
    ],
)
def test_an_exercise_tells_right_from_wrong(answer: str | float | None, said: str) -> None:
    told = repr(exercise(net_volume, answer))
    assert told.startswith(said)
    assert "85.5" in str(answer) or "85.5" not in told


def test_an_exercise_may_change_the_build() -> None:
    """A wider bore; a share in per cent; and what is asked for is never said."""
    wide = changed("otter", bore_diameter=9.0)
    gap = core_gap.text(wide.solution[core_gap])
    assert repr(exercise(core_gap, gap, bore_diameter="9 mm")) == "**Right.**"
    assert repr(exercise(core_gap, gap)) == "**Not yet**: too large."
    share = share_outside.text(changed("wren").solution[share_outside])
    assert repr(exercise(share_outside, share, build="wren")) == "**Right.**"


def test_the_quantities_that_matter_stand_with_both_builds() -> None:
    table = repr(quantities_that_matter([core_gap, net_volume]))
    for name in ("otter", "wren"):
        assert f"*{name}*" in table
        assert net_volume.text(changed(name).solution[whole_head().quantities["net_volume"]]) in table
    assert "(A_notation.ipynb)" in table


def test_the_checks_of_a_subject_that_is_none_are_no_empty_table() -> None:
    with pytest.raises(LookupError, match=r"no published figures of 'srcew': take one of \['feedstock'"):
        check_table("srcew")
