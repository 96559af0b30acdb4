"""Everything that a build may contain, part by part, with a search over all of it."""

from __future__ import annotations

import ipywidgets as widgets
from markupsafe import Markup

from augerbook.core.quantity import Choice, Lookup, Quantity, Series
from augerbook.head import part_titles
from augerbook.head.feedstock import sieve_table
from augerbook.page.controls import Lists, Sliders
from augerbook.page.deferred import Deferred
from augerbook.page.keyboard import for_the_keyboard
from augerbook.page.plain import Html
from augerbook.page.searching import found
from augerbook.page.session import Session
from augerbook.page.sieve_grid import SieveGrid

_WIDE = widgets.Layout(width="100%")
_FIELD = widgets.Layout(width="min(560px, calc(100% - 4px))")
#: So many rows are shown at most for a search: more is no answer, and takes a browser seconds.
_MOST = 30
_HOW = (
    "Beside each slider stands its value, and beside that its spread, from low to high: type 0.2 to 0.35, or ± 0.1, or "
    "leave it empty when the value is known exactly. Units may be typed behind: 5/16 in, 0.8 cm."
)

Item = Quantity | Choice | Lookup | Series


class AllValues:
    """Lists, sliders and the sieve table of every part, in tabs; a search shows what it finds of all parts at once.

    A part is made when its tab is opened, or when a search finds something in it. All at once would be some thousand
    messages in a second, and beyond that a notebook server drops what the kernel says.

    Attributes:
        rest: sliders and lists by part, of the parts that were made.
        tabs: one page for each part.
        rows: the row of each input, choice and table, as it is shown, of the parts that were made.
    """

    def __init__(self, session: Session) -> None:
        self._session = session
        self.rest: dict[str, Sliders | Lists] = {}
        self.grid = SieveGrid(session, sieve_table)
        self.rows: dict[Item, widgets.Widget] = {}
        network = session.build.network
        items: list[Item] = [*network.lookups.values(), *network.choices.values(), *network.inputs, sieve_table]
        self._titles: dict[str, str] = part_titles()
        self._items = {part: [item for item in items if item.part == part] for part in self._titles}
        self._pages = {part: widgets.VBox(layout=_WIDE) for part, inside in self._items.items() if inside}
        self.tabs = widgets.Tab(
            children=list(self._pages.values()), titles=[self._titles[part] for part in self._pages], layout=_WIDE
        )
        self.tabs.observe(lambda _: self._opened(), names="selected_index")
        self._opened()
        self.search = widgets.Text(
            description="search", placeholder="words of a name or meaning, or a symbol such as d_m", layout=_FIELD,
            style={"description_width": "60px"},
        )  # fmt: skip
        self.count = Html()
        self._how = Html(Markup("<div style='line-height:1.4'>{}</div>").format(_HOW), layout=_WIDE)
        self.found: list[Item] = []
        self._searching = Deferred(self.look)
        self.search.observe(lambda _: self._searching.request(), names="value")
        self.widget = widgets.VBox([self.search, self.count, self._how, self.tabs], layout=_WIDE)

    def _opened(self) -> None:
        place = self.tabs.selected_index
        if place is not None:
            self.make(list(self._pages)[place])

    def make(self, part: str) -> None:
        """Make the rows of a part, if they are not there yet."""
        page = self._pages[part]
        if page.children:
            return
        boxes: list[widgets.Widget] = []
        inside = self._items[part]
        if lists := [item for item in inside if isinstance(item, Choice | Lookup)]:
            group = self.rest[f"{part} lists"] = Lists(self._session, lists)
            boxes.append(group.box)
            self.rows |= {item: row.widget for item, row in group.rows.items()}
        if sliders := [item for item in inside if isinstance(item, Quantity)]:
            rows = self.rest[part] = Sliders(self._session, sliders, spreads=True)
            boxes.append(rows.box)
            self.rows |= {quantity: row.noted.widget for quantity, row in rows.rows.items()}
        if sieve_table in inside:
            boxes.append(self.grid.widget)
            self.rows[sieve_table] = self.grid.widget
        page.children = boxes

    def retire(self) -> None:
        """Search no more."""
        self._searching.drop()

    def look(self) -> None:
        """Show the rows that the search finds in place of the tabs; the tabs when nothing is searched for."""
        query = self.search.value.strip()
        self.found = found(query, [item for inside in self._items.values() for item in inside]) if query else []
        shown = self.found[:_MOST]
        for item in shown:
            self.make(item.part)
        self.count.value = Markup("<span role='status'>{}</span>").format(self._in_words(query)) if query else ""
        below = [self._how, self.tabs] if not query else [widgets.VBox(self._by_part(shown), layout=_WIDE)]
        self.widget.children = [self.search, self.count, *below]

    def _by_part(self, items: list[Item]) -> list[widgets.Widget]:
        boxes: list[widgets.Widget] = []
        parts = dict.fromkeys(item.part for item in items)
        for part in parts:
            boxes.append(Html(Markup("<b style='line-height:1.8'>{}</b>").format(self._titles[part])))
            boxes += [self.rows[item] for item in items if item.part == part]
        return [*boxes, for_the_keyboard()] if boxes else []

    def _in_words(self, query: str) -> str:
        count = len(self.found)
        if not count:
            return f"nothing is called '{query:.40}' here. Computed results stand under Worked example."
        return f"{count} found" if count <= _MOST else f"{count} found, the first {_MOST} are shown: type more"
