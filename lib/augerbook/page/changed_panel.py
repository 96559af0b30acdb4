"""What was changed since the build was loaded, each with a way back; and the steps, one by one, back and forth."""

from __future__ import annotations

import ipywidgets as widgets
from markupsafe import Markup

from augerbook.core.quantity import Series
from augerbook.deciding.candidates import Difference, Item, changed, put_back
from augerbook.page.plain import Button, Html
from augerbook.page.session import Session

_WIDE = widgets.Layout(width="100%")
_AUTO = widgets.Layout(width="auto", flex="0 0 auto")
_ROW = widgets.Layout(width="100%", align_items="center")
_TEXT = widgets.Layout(flex="1 1 auto", width="auto", min_width="0")
#: Changes that are listed; further ones are counted.
_MOST = 14


class ChangedPanel:
    """Undo, redo and the list of changes. ``steps`` and ``widget`` are what is shown."""

    def __init__(self, session: Session) -> None:
        self._session = session
        self.undo = Button(description="Undo", tooltip="Take the last step back", layout=_AUTO)
        self.redo = Button(description="Redo", tooltip="Do again what was taken back", layout=_AUTO)
        self.undo.on_click(lambda _: session.undo())
        self.redo.on_click(lambda _: session.redo())
        self.steps = widgets.HBox([self.undo, self.redo], layout=_AUTO)
        self.heading = Html(layout=_TEXT)
        self.all = Button(description="Reset all", tooltip="Back to the build as you began with it",
                                  layout=widgets.Layout(width="auto", flex="0 0 auto"))  # fmt: skip
        self.all.on_click(lambda _: session.take(session.loaded))
        self.resets: dict[Item | Series, widgets.Button] = {}
        self._rows: dict[Item | Series, tuple[widgets.HBox, widgets.HTML]] = {}
        self._head = widgets.HBox([self.heading, self.all], layout=_WIDE)
        self.widget = widgets.VBox([self._head], layout=_WIDE)
        session.on_change(self._follow)
        self._follow()
        self.refresh()

    def _follow(self) -> None:
        self.undo.disabled, self.redo.disabled = not self._session.can_undo, not self._session.can_redo

    def refresh(self) -> None:
        """List what differs from the build that was loaded."""
        assumed = self._session.wanted.network.assumed
        found = list(changed(self._session.loaded, self._session.wanted))
        found.sort(key=lambda one: one.item in assumed)  # last what only follows, as the operating point finds it
        listed = found[:_MOST]
        more = f", the first {_MOST} of them" if len(found) > _MOST else ""
        said, end = ("Changed", f" ({len(found)}{more}):") if found else ("Nothing changed", ".")
        # Not every build was loaded: some began with nothing given, or with estimates.
        words = Markup("<div>{} since you began with <i>{}</i>{}</div>")
        self.heading.value = words.format(said, self._session.loaded.name, end)
        self.all.layout.display = "" if found else "none"
        self.widget.children = [self._head, *(self._row(one) for one in listed)]

    def _row(self, one: Difference) -> widgets.HBox:
        if one.item not in self._rows:
            button = Button(description="Reset", layout=_AUTO)
            button.on_click(lambda _: self._reset(one.item))
            text = Html(layout=_TEXT)
            self.resets[one.item] = button
            self._rows[one.item] = (widgets.HBox([button, text], layout=_ROW), text)
        row, text = self._rows[one.item]
        text.value = Markup("<div style='line-height:1.3'>{}</div>").format(one.words)
        self.resets[one.item].tooltip = f"Put {one.item.name_in_words} back to {one.before}"
        return row

    def _reset(self, item: Item | Series) -> None:
        self._session.take(put_back(self._session.wanted, self._session.loaded, item))
