"""The tables of the appendices: as wide as a page, and complete."""

import re

import pytest
from augerbook.page.appendix import data_table, reference_list
from augerbook.tables import read_table, references


def parts_of(name: str) -> list[list[str]]:
    """The rows of each Markdown table that ``data_table`` returns, without the line below the heads."""
    blocks = data_table(name)._repr_markdown_().split("\n\n")
    return [[line for line in block.splitlines() if not line.startswith("|---")] for block in blocks]


@pytest.mark.parametrize("name", ["screws", "bearings", "materials", "plastics_drying", "melts"])
def test_a_wide_table_has_its_words_in_a_second_one(name: str) -> None:
    table = read_table(name)
    figures, words = parts_of(name)
    assert len(figures) == len(table.rows) + 1
    assert "provenance" not in figures[0] and words[0] == "| name | provenance | note |"
    for row in table.rows.values():
        (line,) = (w for w in words[1:] if row.name in w.split(" | ")[0].removeprefix("| ").split(", "))
        assert line.endswith(f"| {row.text('provenance')} | {row.text('note')} |")


@pytest.mark.parametrize("name", ["sieves", "hausner", "melt_curves"])
def test_a_narrow_table_stays_in_one(name: str) -> None:
    (rows,) = parts_of(name)
    assert len(rows) == len(read_table(name).rows) + 1
    assert rows[0].endswith("| provenance | note |")


def test_names_in_the_heads_are_written_as_names() -> None:
    assert "| Young's modulus (GPa) | Poisson's ratio |" in parts_of("materials")[0][0]


def test_every_work_is_listed_with_a_link_where_it_can_be_read() -> None:
    heads, _, *rows = reference_list()._repr_markdown_().splitlines()
    assert heads == "| key | work | kind | note |" and len(rows) == len(references())
    for (key, work), row in zip(sorted(references().items()), rows, strict=True):
        assert row.startswith(f"| `{key}` | ") and work.cite() in row
        assert f"]({work.address})" in row or f"](<{work.address}>)" in row or not work.address
        longest = max((len(word) for word in re.split(r"\s|<wbr>", row.rsplit(" | ", 1)[1])), default=0)
        assert longest < 40, f"{key}: a word of {longest} letters in its note would widen the page"
