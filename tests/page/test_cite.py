"""Worked examples of builds with any name and note: inert where they are posted, and the same build when read back."""

from dataclasses import replace

import pytest
from augerbook.builds.shipped import read_build, shipped_build, shipped_builds
from augerbook.chapters import whole_head
from augerbook.chapters.screw import tip_gap
from augerbook.page.cite import find_example, worked
from hypothesis import given
from hypothesis import strategies as st
from nbconvert.filters.markdown import markdown2html

from tests.core.test_markup import NASTY, Parsed, names
from tests.soak import examples

OTTER = shipped_build("otter")
OF_OUR_OWN = Parsed(markdown2html(worked(tip_gap, OTTER)._repr_markdown_())).tags | {"code"}


@pytest.mark.slow
@examples(20)
@given(names | st.sampled_from(NASTY), names | st.sampled_from(NASTY))
def test_any_name_and_note_are_inert_and_read_back(name: str, note: str) -> None:
    build = replace(OTTER, name=name, note=note)
    example = worked(tip_gap, build)
    for post in (example.markdown(), example.bbcode(), example.text()):
        again = read_build(post)
        assert again.toml() == build.toml() and (again.name, again.note) == (build.name, build.note)
    assert read_build(build.toml()).toml() == build.toml()
    assert example.markdown().count("```") == 2
    assert example.bbcode().count("[code]") == 1 == example.bbcode().count("[/code]")
    for text in (example.bbcode(), example.text()):
        assert "<script" not in text and "<img" not in text and "[url" not in text
    assert Parsed(markdown2html(example._repr_markdown_())).tags <= OF_OUR_OWN
    assert Parsed(markdown2html(example.markdown())).tags <= OF_OUR_OWN | {"ul", "li", "div", "pre", "span"}


@pytest.mark.slow
def test_ids_that_were_posted_are_found_again() -> None:
    """The first three stood in the README and in chapters of version 0.1.0, when an id told the whole build."""
    assert find_example("screw.net_volume:6a201532").result.startswith("85.5 mm³")
    assert find_example("plate.stress_share:b7c5ed21").build_name.startswith("wren")
    assert find_example("heat.running:6a201532").build_name.startswith("otter")
    for name in shipped_builds():
        example = worked(tip_gap, name)
        assert find_example(example.id) == example


@pytest.mark.parametrize("unknown", ["screw.net_volume:00000000", "screw.nothing:6a201532", "", "screw.net_volume"])
def test_an_id_of_no_shipped_build_says_what_to_do(unknown: str) -> None:
    with pytest.raises(LookupError, match=r"there is no relation|load the build that was posted with it"):
        find_example(unknown)


def test_what_else_a_build_holds_changes_no_id() -> None:
    """So that a new chapter, whose inputs the builds then have, leaves what was posted as it is."""
    wider = OTTER.with_value(whole_head().quantities["plate_thickness"], 0.007)
    assert worked(tip_gap, wider).id == worked(tip_gap, OTTER).id


def test_an_example_of_a_margin_has_as_many_digits_as_the_margin() -> None:
    build = shipped_build("otter")
    margin = build.network.margins["thrust.tube_stress_share"]
    shown = margin.text(build.solution[margin.quantity])
    example = worked(margin.quantity, build)
    assert shown == "1.005" and example.result.startswith(shown) and example.steps[-1].result.endswith(f"= {shown}")
