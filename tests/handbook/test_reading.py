"""The checks on how a chapter reads, tested: one that was turned round passes, each fault put into a copy is found."""

from pathlib import Path

import nbformat
import pytest
from nbformat import NotebookNode

from tests.handbook import reading, refresh
from tests.handbook.anatomy import headings
from tests.handbook.breaking import cell_with, exchange

SHOWN = refresh.ROOT / "handbook" / "03_screw.ipynb"


@pytest.fixture
def chapter() -> NotebookNode:
    return refresh.parse(SHOWN.read_text(encoding="utf-8"))


def faults(chapter: NotebookNode) -> str:
    return "\n".join(reading.reading_faults(chapter))


def test_the_chapter_that_shows_it_has_no_fault(chapter: NotebookNode) -> None:
    assert faults(chapter) == ""


def test_a_heading_that_is_missing_or_out_of_order_is_found(chapter: NotebookNode) -> None:
    exchange(chapter, "## Break it", "### Break it")
    assert "expected" in faults(chapter)


@pytest.mark.parametrize(("old", "new"), [("# The screw in its bore", "## The screw"), ("## Take home", "# Take home")])
def test_a_chapter_has_one_title(chapter: NotebookNode, old: str, new: str) -> None:
    exchange(chapter, old, new)
    assert "a chapter has one title" in faults(chapter)


def test_cautions_before_the_derivation_are_found(chapter: NotebookNode) -> None:
    exchange(chapter, "## Cautions", "### Cautions")
    exchange(chapter, "## Derivation", "## Cautions\n\n## Derivation")
    assert "stands before the derivation" in faults(chapter)


def test_cautions_may_be_absent(chapter: NotebookNode) -> None:
    exchange(chapter, "## Cautions", "### Cautions")
    assert faults(chapter) == ""


def test_a_heading_inside_fenced_code_does_not_count() -> None:
    assert headings("# A\n```\n## no heading\n```\n## B ##") == [(1, "A"), (2, "B")]


@pytest.mark.parametrize(
    ("text", "instead", "said"),
    [
        ("**Rule of thumb**", "**A rule**", "has no Rule of thumb"),
        ("### Let the flanks meet", "#### Let the flanks meet", "'Break it' has 1"),
        ("- Room per turn goes", "* Room per turn goes", "'Take home' has 4 lines"),
        ("[the chapter on thrust](12_thrust.ipynb)", "the chapter on thrust", "'chapter on thrust' is no link"),
        ("[the chapter on thrust](12_thrust.ipynb)", "chapter 12", "'chapter 12' is no link"),
    ],
)
def test_a_text_that_is_missing_is_found(chapter: NotebookNode, text: str, instead: str, said: str) -> None:
    exchange(chapter, text, instead)
    assert said in faults(chapter)


def test_a_heading_in_the_middle_of_a_cell_begins_its_part_there(chapter: NotebookNode) -> None:
    """What stands above it in the cell belongs to the part before, and is counted there."""
    before = {name: len(cells) for name, cells in reading.parts(chapter).items()}
    places = [place for place, cell in enumerate(chapter.cells) if "## Take home" in cell.source]
    above, below = chapter.cells[places[0]], chapter.cells.pop(places[0] + 1)
    assert headings(below.source) == [(2, "Sources")]
    above.source += f"\n\n{below.source}"
    assert faults(chapter) == ""
    assert {name: len(cells) for name, cells in reading.parts(chapter).items()} == before


@pytest.mark.parametrize(
    ("call", "said"),
    [
        ("book.explore(\n    book.pictures_of", "no sliders"),
        ("book.quantities_that_matter", "no table of the quantities that matter"),
        ('book.exercise(screw.net_volume, None, bore_diameter="8.5 mm")', "'Exercises' has 2 cells"),
    ],
)
def test_a_cell_that_is_missing_is_found(chapter: NotebookNode, call: str, said: str) -> None:
    chapter.cells.remove(cell_with(chapter, call))
    assert said in faults(chapter)


def test_examples_are_counted(chapter: NotebookNode) -> None:
    for _ in range(2):
        chapter.cells.remove(cell_with(chapter, "book.worked("))
    assert "'Worked examples' has 1; at least 2" in faults(chapter)


def test_what_is_unfolded_counts_as_open(chapter: NotebookNode) -> None:
    before = len(reading.open_cells(chapter))
    heading = cell_with(chapter, "#### In full: the integral over the climbing section")
    del heading.metadata["jp-MarkdownHeadingCollapsed"]
    assert len(reading.open_cells(chapter)) == before + 3
    assert "cells are open to the eye" in faults(chapter)


def test_what_is_folded_ends_at_the_next_heading_of_its_rank(chapter: NotebookNode) -> None:
    seen = reading.open_cells(chapter)
    assert cell_with(chapter, 'book.confirm("screw.helix_angle_mean"') not in seen
    assert cell_with(chapter, "### The section of the flight") in seen


def test_too_long_without_a_figure_is_found(chapter: NotebookNode) -> None:
    for call in ("figures.draw_section", "figures.draw_unrolled"):
        cell_with(chapter, call).outputs.clear()
    assert "no figure within 8 open cells" in faults(chapter)


@pytest.mark.parametrize(
    ("target", "dead"),
    [
        ("03_screw.ipynb", False),
        ("03_screw.ipynb#Break-it", False),
        ("#The-helix", False),
        ("https://example.org/nowhere", False),
        ("03_screws.ipynb", True),
        ("03_screw.ipynb#Break-its", True),
        ("#The-helixes", True),
    ],
)
def test_links_that_lead_nowhere_are_found(tmp_path: Path, chapter: NotebookNode, target: str, dead: bool) -> None:
    for notebook in refresh.notebooks():
        (tmp_path / notebook.name).touch()
    exchange(chapter, "## Take home", f"[there]({target})\n\n## Take home")
    path = tmp_path / SHOWN.name
    nbformat.write(chapter, path)
    assert reading.dead_links(path) == ([target] if dead else [])


def test_a_result_of_another_chapter_without_a_link_is_found(chapter: NotebookNode) -> None:
    assert list(reading.unlinked_quantities(chapter, own="screw")) == []
    exchange(chapter, "## Take home", "## Take home\n\nThe grip\nreserve, and again the grip reserve.")
    assert [said[:55] for said in reading.unlinked_quantities(chapter, own="screw")] == [
        "'grip reserve' belongs to the chapter conveying, and no"
    ]
    exchange(chapter, "## Take home", "## Take home\n\nSee [grip](05_conveying.ipynb).")
    assert list(reading.unlinked_quantities(chapter, own="screw")) == []


def test_the_time_to_read_counts_what_is_open(chapter: NotebookNode) -> None:
    before = reading.minutes_to_read(chapter)
    exchange(chapter, "## Take home", f"## Take home\n\n{'word ' * 2380}\n\n<details>{'word ' * 999}</details>")
    assert reading.minutes_to_read(chapter) == pytest.approx(before + 10)
    assert "minutes to read" in faults(chapter)
