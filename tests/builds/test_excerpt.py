"""A citation in five lines: the values of one step on one line, from which its number comes back."""

import pytest
from augerbook.builds.build import Build
from augerbook.builds.estimates import estimated, with_estimates
from augerbook.builds.excerpt import excerpt
from augerbook.builds.reader import BuildError
from augerbook.builds.shipped import read_build, shipped_build, shipped_builds
from augerbook.chapters import whole_head
from augerbook.chapters.drive import core_stress_share
from augerbook.core.example import WorkedExample
from augerbook.head.screw import core_diameter, major_diameter
from augerbook.head.tube import bore_diameter
from augerbook.page.cite import worked

Q = whole_head().quantities
FORMS = ("markdown", "bbcode", "text")


def computed(build: Build) -> list:
    return [q for q in whole_head().quantities.values() if q in build.solution.values and q not in build.solution.given]


@pytest.mark.slow
@pytest.mark.parametrize("name", shipped_builds())
def test_every_number_comes_back_from_its_line(name: str) -> None:
    build = shipped_build(name)
    # What an equation leaves at its root is noise of the last digits, and no number that anyone quotes.
    for quantity in (q for q in computed(build)[::4] if not q.key.endswith("_residual")):
        again = read_build(excerpt(build, quantity).one_line())
        assert again.name == name
        assert quantity.text(again.solution[quantity]) == quantity.text(build.solution[quantity]), quantity.key


def test_a_line_claims_nothing_to_be_measured_and_older_lines_are_read() -> None:
    build = shipped_build("otter")
    line = excerpt(build, Q["tube_stress_share"]).one_line()
    assert "results = { " in line and "measured" not in line
    assert read_build(line.replace("results = ", "measured = ")).toml() == read_build(line).toml()


@pytest.mark.slow
@pytest.mark.parametrize("form", FORMS)
def test_five_lines_with_all_that_a_citation_needs(form: str) -> None:
    build = shipped_build("otter")
    for quantity in computed(build)[::40]:
        example = worked(quantity, build)
        lines = example.short(form).rstrip("\n").split("\n")
        assert len(lines) == 5 + len(example.warnings)
        assert example.result in lines[0] and example.id in lines[2] and "otter" in lines[3]
        assert example.steps[-1].formula in lines[1]
        assert read_build(f"Dear all,\n\nwhat of this?\n\n{example.short(form)}\n-- \nkind regards").name == "otter"


def test_a_line_of_another_build_is_read_with_its_spreads_and_rows() -> None:
    build = shipped_build("otter")
    assert read_build(build.one_line()).toml().splitlines()[3:] == build.toml().splitlines()[4:]


def test_what_is_estimated_is_marked_on_its_line_too() -> None:
    known = read_build('format = 1\nname = "little"\n[tube]\nbore_diameter = "8 mm"\n[screw]\nmajor_diameter = "6 mm"')
    filled = with_estimates(known)
    assert read_build(filled.one_line()).toml() == filled.toml()
    marked = [q for q in computed(filled)[::10] if estimated(read_build(excerpt(filled, q).one_line()))]
    assert filled.guessed and marked


def test_warnings_are_never_left_out() -> None:
    build = shipped_build("otter").with_value(bore_diameter, 0.0125)
    warned = build.solution.warnings[0].node.outputs[0]
    example: WorkedExample = worked(warned, build)
    assert example.warnings
    assert example.warnings[0] in example.short()


def test_nothing_leads_to_what_is_given_or_unknown() -> None:
    for build, quantity in ((shipped_build("otter"), bore_diameter), (read_build("format = 1"), core_stress_share)):
        with pytest.raises(ValueError, match="nothing leads to it"):
            excerpt(build, quantity)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("build = { format = 1, screw = { core_diameter = 4 } }", "screw.core_diameter = 4"),
        ('build = { format = 2, name = "x" }', "format = 2"),
        ('build = { format = 1, screw = { core_diameter = "4 mm" }', "not a TOML build file"),
        ("build = 7", "build = 7"),
    ],
)
def test_a_broken_line_is_explained(text: str, said: str) -> None:
    with pytest.raises(BuildError, match=said.partition(" =")[0]) as told:
        read_build(text)
    assert said in str(told.value)


def test_a_name_cannot_break_out_of_its_line() -> None:
    build = read_build('format = 1\nname = "a } `b` [/code] <i> \\" = {"\n[screw]\ncore_diameter = "4 mm"\n'
                       'major_diameter = "6 mm"')  # fmt: skip
    again = read_build(f"so: `{build.one_line()}` and more")
    assert again.name == build.name and "<i>" not in build.one_line() and "`" not in build.one_line()
    assert again.values[major_diameter] == 0.006 and again.values[core_diameter] == 0.004
