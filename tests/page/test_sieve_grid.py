"""The sieve table as a grid: typed row by row, told row by row, drawn as it is taken."""

import pytest
from augerbook.builds.shipped import read_build, shipped_build
from augerbook.chapters.grains import grain_median
from augerbook.head.feedstock import ESTIMATED, SIEVED, sieve_table, sizes_from
from augerbook.head.tube import bore_diameter
from augerbook.page.session import Session
from augerbook.page.sieve_grid import SieveGrid

OTTER = [("2", "0"), ("1.4", "24"), ("1", "33"), ("0.71", "22"), ("0.5", "11"), ("0.25", "7"), ("0", "3")]


@pytest.fixture
def grid() -> SieveGrid:
    return SieveGrid(Session(shipped_build("otter")), sieve_table)


def test_the_table_of_the_build_stands_there_with_its_sum_and_curve(grid: SieveGrid) -> None:
    assert list(grid.texts()) == OTTER and grid.said == ""
    assert "<b>100 %</b>" in grid.total.value
    assert "Half is below" in grid.view.value and "<svg" in grid.view.value
    assert grid.cells[1][1].description == "row 2, share on mesh (%)"


def test_what_is_typed_is_taken_when_it_is_sound_and_told_until_then(grid: SieveGrid) -> None:
    session, curve = grid._session, grid.view.value
    before, median = session.build, session.solution[grain_median]
    grid.cells[1][1].value = "34"
    assert "<b>110 %</b>" in grid.total.value and session.build is before and grid.view.value == curve
    assert "The build keeps the table that it had until this is mended:" in grid.said
    assert "the shares add up to 110 % instead of 100 %" in grid.said
    grid.cells[2][1].value = "23,0 %"
    assert grid.said == "" and grid.view.value != curve and session.build.name == "otter, changed"
    assert session.build.rows[sieve_table][1][1:3].tolist() == pytest.approx([0.34, 0.23])
    assert session.solution[grain_median] > median
    assert grid.cells[2][1].value == "23,0 %", "it stays as it was typed"


@pytest.mark.parametrize(
    ("place", "column", "text", "words"),
    [
        (1, 0, "x", "row 2, mesh: &#39;x&#39; is not a number with a unit"),
        (1, 0, "", "row 2, mesh: &#39;&#39; is empty"),
        (1, 0, "3", "row 2: the mesh 3.00 mm follows 2.00 mm: order the rows from coarse to fine"),
        (2, 0, "1.4", "row 3: the mesh 1.40 mm stands there twice"),
        (0, 1, "5", "the first row is the mesh that everything has passed"),
        (6, 0, "0.1", "the last row is the pan"),
        (1, 1, "<b>", "row 2, share on mesh: &#39;&lt;b&gt;&#39;"),
        (1, 1, "24 g", "is in g, but a value in % is expected"),
    ],
)
def test_faults_are_told_by_row_and_what_was_typed_stays(
    grid: SieveGrid, place: int, column: int, text: str, words: str
) -> None:
    before = grid._session.build
    grid.cells[place][column].value = text
    assert words in grid.said and grid._session.build is before and grid.cells[place][column].value == text
    grid._session.set_value(bore_diameter, 8.5)  # another change leaves it alone
    assert grid.cells[place][column].value == text and words in grid.said
    grid.cells[place][column].value = OTTER[place][column]
    assert grid.said == ""


def test_rows_are_added_and_taken_out(grid: SieveGrid) -> None:
    session = grid._session
    grid.add.click()
    assert grid.texts()[-2:] == (("", ""), ("0", "3")) and "row 7, mesh" in grid.said
    assert "1 not counted" in grid.total.value
    grid.cells[-2][0].value, grid.cells[-2][1].value, grid.cells[-1][1].value = "0.1", "2", "1"
    assert grid.said == "" and len(session.build.rows[sieve_table][0]) == 8
    grid._drops[-2].click()
    assert "add up to 98" in grid.said and len(grid.cells) == 7
    grid.cells[-1][1].value = "3"
    assert grid.said == "" and session.build.toml() == shipped_build("otter").toml()


def test_all_rows_can_go_and_a_table_begins_anew(grid: SieveGrid) -> None:
    for _ in range(7):
        grid._drops[0].click()
    assert grid.texts() == () and "say nothing about sizes" in grid.said
    grid.add.click()
    assert grid.texts() == (("", "0"), ("", ""), ("0", ""))
    for place, row in enumerate((("2 mm", "0"), ("1/25 in", "60"), ("0", "40"))):
        for cell, text in zip(grid.cells[place], row, strict=True):
            cell.value = text
    assert grid.said == "" and grid._session.build.rows[sieve_table][0][1] == pytest.approx(0.0254 / 25)


def test_another_build_shows_its_own_table_and_a_build_without_one_none(grid: SieveGrid) -> None:
    grid.cells[1][0].value = "x"
    grid._session.load(shipped_build("wren"))
    assert "x" not in {text for row in grid.texts() for text in row} and "mended" not in grid.said
    grid._session.load(read_build('format = 1\n[tube]\nbore_diameter = "8 mm"'))
    assert grid.texts() == () and grid.view.value == ""
    grid.add.click()
    assert "The build has no table yet" in grid.said


def test_a_table_that_is_not_used_says_so(grid: SieveGrid) -> None:
    grid._session.set_choice(sizes_from, ESTIMATED)
    assert "Not used now" in grid.said
    grid._session.set_choice(sizes_from, SIEVED)
    assert grid.said == ""


def test_a_look_changes_nothing(grid: SieveGrid) -> None:
    before = grid._session.build
    grid.cells[1][1].value = "24.0"
    assert grid._session.build is before and grid.said == ""
