"""Plain tables of a page: heads, rows, and one style for their cells."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from markupsafe import Markup

from augerbook.page.colours import FAINT

#: Style of the cells.
CELL = "padding:2px 10px 2px 0;text-align:left;vertical-align:top"


def table_html(
    heads: Sequence[str], rows: Iterable[Sequence[str]], *, kind: str = "", ruled: bool = False, plain: bool = False
) -> Markup:
    """Return a table; what is no ``Markup`` is escaped.

    Args:
        heads: of the columns.
        rows: cells, as many as heads.
        kind: a class by which tests and styles find it.
        ruled: with a faint line above each row.
        plain: without styles: a sheet to print has its own.
    """
    cell = Markup() if plain else Markup(" style='{}'").format(CELL)
    line = Markup(" style='border-top:1px solid {}'").format(FAINT) if ruled else Markup()
    top = Markup().join(Markup("<th scope='col'{}>{}</th>").format(cell, words) for words in heads)
    body = Markup().join(
        Markup("<tr{}>{}</tr>").format(line, Markup().join(Markup("<td{}>{}</td>").format(cell, text) for text in row))
        for row in rows
    )
    style = Markup() if plain else Markup(" style='border-collapse:collapse;line-height:1.35'")
    named = Markup(" class='{}'").format(kind) if kind else Markup()
    return Markup("<table{}{}><tr>{}</tr>{}</table>").format(named, style, top, body)
