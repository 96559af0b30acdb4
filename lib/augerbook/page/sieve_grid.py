"""The sieve table as a grid to type into, with its sum and its curve."""

from __future__ import annotations

import ipywidgets as widgets
import numpy as np
from markupsafe import Markup

from augerbook.builds.build import exact_number
from augerbook.builds.typed import typed_columns
from augerbook.chapters.grains.graphs import draw_sieve_table
from augerbook.core.quantity import Quantity, Series
from augerbook.core.units import with_unit
from augerbook.head.feedstock import SIEVED, sizes_from
from augerbook.page.controls import message_html, note_html
from augerbook.page.live_html import live_html
from augerbook.page.plain import Button, Html
from augerbook.page.session import Session
from augerbook.page.value_row import label_of

_WIDE = widgets.Layout(width="100%")
_CELL = widgets.Layout(width="136px")
_SMALL = widgets.Layout(width="36px")
_NO_LABEL = widgets.Text(style={"description_width": "0px"}).style


class SieveGrid:
    """Rows of mesh and share, kept in step with a session.

    What is typed stands there until it makes a sound table; the build has the last sound one.

    Attributes:
        cells: the fields of each row, from coarse to fine.
        said: what is wrong, as HTML; empty when nothing is.
    """

    def __init__(self, session: Session, series: Series) -> None:
        self._session, self._series = session, series
        self.cells: list[tuple[widgets.Text, ...]] = []
        self._drops: list[widgets.Button] = []
        self._shown: tuple[tuple[str, ...], ...] | None = None
        self._quiet = False
        self._faults: list[str] = []
        self.add = Button(description="Add a row", tooltip="A row above the pan", layout=widgets.Layout(width="110px"))
        self.add.on_click(lambda _: self._add())
        self.grid = widgets.VBox()
        self.total = Html()
        self.note = Html(layout=_WIDE)
        self.view = live_html()
        self._following()
        session.on_change(self._following)
        left = widgets.VBox([_heads(series.columns), self.grid, self.total, self.add])
        right = widgets.VBox([self.view], layout=widgets.Layout(flex="1 1 420px", min_width="0"))
        both = widgets.HBox([left, right], layout=widgets.Layout(width="100%", flex_flow="row wrap", grid_gap="0 20px"))
        heading = Markup("<b style='line-height:1.8'>{}</b>").format(series.name_in_words)
        about = Html(heading + Markup(" <span>{}</span>").format(series.meaning.partition(": ")[2]))
        self.widget = widgets.VBox([about, self.note, both], layout=_WIDE)

    @property
    def said(self) -> str:
        """What stands above the grid: its faults, as HTML."""
        return str(self.note.value)

    def texts(self) -> tuple[tuple[str, ...], ...]:
        """Return what stands in the cells, row by row."""
        return tuple(tuple(cell.value for cell in row) for row in self.cells)

    def _following(self) -> None:
        """Show the table of the build, where it is another than was last seen or typed."""
        columns = self._session.wanted.rows.get(self._series, ())
        quantities = self._series.columns
        shown = tuple(
            tuple(exact_number(q, si) for q, si in zip(quantities, row, strict=True))
            for row in zip(*columns, strict=True)
        )
        if shown != self._shown:
            self._shown = shown
            self._faults = []
            self._put(shown)
            self._draw()
        self._tell()
        if note := note_html(self._session, self._series):
            self.note.value = note

    def _put(self, rows: tuple[tuple[str, ...], ...]) -> None:
        self._quiet = True
        try:
            for cells, row in zip(self.cells, rows, strict=False):
                for cell, text in zip(cells, row, strict=True):
                    cell.value = text
            del self.cells[len(rows) :], self._drops[len(rows) :]
            for row in rows[len(self.cells) :]:
                self._make(row)
            self._lay_out()
        finally:
            self._quiet = False

    def _make(self, texts: tuple[str, ...], at: int | None = None) -> None:
        cells = tuple(
            widgets.Text(value=text, continuous_update=False, layout=_CELL, style=_NO_LABEL) for text in texts
        )
        drop = Button(description="\u2212", layout=_SMALL)
        at = len(self.cells) if at is None else at
        self.cells.insert(at, cells)
        self._drops.insert(at, drop)
        for cell in cells:
            cell.observe(lambda _: self._typed(), names="value")
        drop.on_click(lambda _: self._drop(cells))

    def _lay_out(self) -> None:
        for place, (cells, drop) in enumerate(zip(self.cells, self._drops, strict=True), 1):
            for cell, quantity in zip(cells, self._series.columns, strict=True):
                cell.description = f"row {place}, {label_of(quantity)}"
            drop.tooltip = f"Take row {place} out"
        self.grid.children = [
            widgets.HBox([*cells, drop]) for cells, drop in zip(self.cells, self._drops, strict=True)
        ]  # fmt: skip
        self._sum()

    def _add(self) -> None:
        """Put an empty row above the last, which is the pan; a table without rows begins with three."""
        empty = ("",) * len(self._series.columns)
        self._quiet = True
        try:
            if self.cells:
                self._make(empty, len(self.cells) - 1)
            else:
                for row in (("", "0"), empty, ("0", "")):
                    self._make(row)
            self._lay_out()
        finally:
            self._quiet = False
        self._typed()

    def _drop(self, cells: tuple[widgets.Text, ...]) -> None:
        place = self.cells.index(cells)
        del self.cells[place], self._drops[place]
        self._lay_out()
        self._typed()

    def _typed(self) -> None:
        """Take the table when it is sound; otherwise say row by row what keeps it from being taken."""
        if self._quiet:
            return
        self._sum()
        columns, faults = typed_columns(self._series, self.texts())
        self._faults = faults
        if not faults:
            quantities = self._series.columns
            # What is typed stays as it is typed: 0,5 need not become 0.5 under the reader's hands.
            self._shown = tuple(
                tuple(exact_number(q, si) for q, si in zip(quantities, row, strict=True))
                for row in zip(*columns, strict=True)
            )
            self._session.type_rows(self._series, self.texts())
            self._draw()
        self._tell()

    def _tell(self) -> None:
        if self._faults:
            kept = "The build keeps the table that it had" if self._session.wanted.rows.get(self._series) else (
                "The build has no table yet"
            )  # fmt: skip
            self.note.value = message_html("\n".join([f"{kept} until this is mended:", *self._faults]))
        elif self._session.wanted.choices.get(sizes_from) != SIEVED and self.cells:
            self.note.value = Markup("<span>Not used now: '{}' stands at another kind.</span>").format(
                sizes_from.name_in_words
            )
        else:
            self.note.value = ""

    def _sum(self) -> None:
        share = self._series.columns[-1]
        shares = [typed_columns(_alone(share), [(row[-1].value,)]) for row in self.cells]
        known = [columns[0][0] for columns, faults in shares if not faults]
        total = with_unit(f"{float(share.shown(np.sum(known))) if known else 0:.6g}", share.unit)
        off = f", {len(shares) - len(known)} not counted" if len(known) < len(shares) else ""
        self.total.value = Markup("<div style='margin-left:8px'>sum of the shares: <b>{}</b>{}</div>").format(
            total, off
        )

    def _draw(self) -> None:
        columns = self._session.wanted.rows.get(self._series)
        self.view.value = draw_sieve_table(*columns).svg() if columns else ""


def _alone(quantity: Quantity) -> Series:
    """Return one column as a table of its own, with nothing to check beside its numbers."""
    return Series(quantity.key, quantity.meaning, (quantity,), part="", check=lambda *_: [])


def _heads(columns: tuple[Quantity, ...]) -> widgets.HTML:
    cells = Markup().join(
        Markup(
            "<span style='display:inline-block;width:140px;padding-left:8px;box-sizing:border-box'>{}</span>"
        ).format(label_of(column))
        for column in columns
    )
    return Html(cells)
