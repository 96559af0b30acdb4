"""Worked examples of builds with any name and note: inert where they are posted, and the same build when read back."""

from dataclasses import replace

from augerbook.builds.shipped import read_build, shipped_build
from augerbook.chapters.screw import tip_gap
from augerbook.page.cite import worked
from hypothesis import given
from hypothesis import strategies as st
from nbconvert.filters.markdown import markdown2html

from tests.core.test_markup import NASTY, Parsed, names
from tests.soak import examples

OTTER = shipped_build("otter")
OF_OUR_OWN = Parsed(markdown2html(worked(tip_gap, OTTER)._repr_markdown_())).tags | {"code"}


@examples(20)
@given(names | st.sampled_from(NASTY), names | st.sampled_from(NASTY))
def test_any_name_and_note_are_inert_and_read_back(name: str, note: str) -> None:
    build = replace(OTTER, name=name, note=note)
    example = worked(tip_gap, build)
    for post in (example.markdown(), example.bbcode(), example.text(), repr(example)):
        again = read_build(post)
        assert again.toml() == build.toml() and (again.name, again.note) == (build.name, build.note)
    assert read_build(build.toml()).toml() == build.toml()
    assert example.markdown().count("```") == 2
    assert example.bbcode().count("[code]") == 1 == example.bbcode().count("[/code]")
    for text in (example.bbcode(), example.text()):
        assert "<script" not in text and "<img" not in text and "[url" not in text
    assert Parsed(markdown2html(example._repr_markdown_())).tags <= OF_OUR_OWN
    assert Parsed(markdown2html(example.markdown())).tags <= OF_OUR_OWN | {"ul", "li", "div", "pre", "span"}
