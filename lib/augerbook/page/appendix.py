"""The generated tables of the appendices: notation, data tables, sources."""

from __future__ import annotations

import re
from collections.abc import Sequence

from augerbook.checks import published_checks
from augerbook.core.network import Network
from augerbook.core.quantity import Quantity
from augerbook.core.units import plain_unit
from augerbook.head import part_titles
from augerbook.page.chapter import Markdown, percent_text
from augerbook.tables import Column, Table, read_table, references

#: Columns of words, which take the most room, and how many columns a page has room for beside them.
_IN_WORDS, _MOST_COLUMNS = ("provenance", "note"), 9
#: Names and abbreviations in the heads of columns.
_PROPER = {"youngs": "Young's", "poisson": "Poisson's", "wlf": "WLF", "hausner": "Hausner"}
#: Where the path of a file may be broken, which would widen a table beyond the page.
_MAY_BREAK = re.compile(r"(?<=\w/)(?=\w)")


def notation_table(network: Network) -> Markdown:
    """Return all quantities, by symbol, with unit, meaning, chapter and where each is computed."""
    lines = ["| symbol | meaning | unit | name in build files | chapter | from |", "|---|---|---|---|---|---|"]
    for quantity in sorted(network.quantities.values(), key=lambda q: (q.plain_notation.lower(), q.key)):
        node = network.producer.get(quantity)
        origin = f"`{node.id}`" if node else f"given: {part_titles()[quantity.part].lower()}"
        lines.append(
            f"| ${quantity.latex_notation}$ | {quantity.meaning} | {plain_unit(quantity.unit)} | `{quantity.key}` "
            f"| {quantity.owner} | {origin} |"
        )
    return Markdown("\n".join(lines))


def build_keys(network: Network) -> Markdown:
    """Return everything a build file may contain, section by section."""
    lines = []
    for part, words in part_titles().items():
        items = [item for item in network.declared.values() if item.part == part]
        if not items:
            continue
        lines += [f"\n**`[{part}]`** {words}\n"]
        for item in items:
            extra = ""
            if isinstance(item, Quantity):
                extra = f", {item.range_text}"
            lines.append(f"- `{item.key}`: {item.meaning}{extra}")
    return Markdown("\n".join(lines))


def data_table(name: str) -> Markdown:
    """Return a table of the data as it is in the file, with the provenance of each row.

    Where it would be wider than a page, the words stand in a second table below the figures.
    """
    table = read_table(name)
    figures = [column for column in table.columns if column.name not in _IN_WORDS]
    if len(table.columns) <= _MOST_COLUMNS:
        return Markdown("\n".join(_rows(table, table.columns)))
    origins: dict[tuple[str, ...], list[str]] = {}
    for row in table.rows.values():
        origins.setdefault(tuple(row.text(column) for column in _IN_WORDS), []).append(row.name)
    lines = [*_rows(table, figures), "", f"| name | {' | '.join(_IN_WORDS)} |", "|---|" + "---|" * len(_IN_WORDS)]
    lines += [f"| {', '.join(names)} | {' | '.join(words)} |" for words, names in origins.items()]
    return Markdown("\n".join(lines))


def _rows(table: Table, columns: Sequence[Column]) -> list[str]:
    heads = [f"{_head(column.name)}{_unit(column.unit)}" for column in columns]
    lines = [f"| {' | '.join(heads)} |", "|" + "---|" * len(heads)]
    return lines + [f"| {' | '.join(row.text(c.name) for c in columns)} |" for row in table.rows.values()]


def _head(column: str) -> str:
    return " ".join(_PROPER.get(word, word) for word in column.split("_"))


def _unit(unit: str | None) -> str:
    shown = plain_unit(unit) if unit else ""
    return f" ({shown})" if shown else ""


def reference_list() -> Markdown:
    """Return all works that the handbook cites, each linked to where anyone can read it, if there is such a place."""
    lines = ["| key | work | kind | note |", "|---|---|---|---|"]
    for key, work in sorted(references().items()):
        note = _MAY_BREAK.sub("<wbr>", work.note)
        lines.append(f"| `{key}` | {work.linked() if work.address else work.cite()} | {work.kind} | {note} |")
    return Markdown("\n".join(lines))


def check_summary(network: Network) -> Markdown:
    """Run the published checks of all chapters and return how well each is reproduced.

    Raises:
        AssertionError: a published figure is not reproduced.
    """
    lines = ["| chapter | published example | largest difference | source |", "|---|---|---|---|"]
    for subject in network.subjects:
        for check in published_checks(subject.name):
            outcomes = check.run(network)
            if not all(outcome.agrees for outcome in outcomes):
                raise AssertionError(f"{subject.name}: {check.what} is not reproduced")
            shown = percent_text(max(outcome.difference for outcome in outcomes))
            lines.append(f"| {subject.name} | {check.what} | {shown} | {check.provenance()} |")
    return Markdown("\n".join(lines))
