"""A row of controls with room below for a note that says what is wrong with it."""

from __future__ import annotations

from collections.abc import Sequence

import ipywidgets as widgets

from augerbook.page.plain import Html

_ROW = widgets.Layout(width="100%", flex_flow="row wrap", align_items="center")
_NOTE = widgets.Layout(width="100%", margin="0 2px 4px 2px")


class Noted:
    """Controls side by side; a note takes the full width below them and is there only while it says something."""

    def __init__(self, controls: Sequence[widgets.Widget]) -> None:
        self._controls = tuple(controls)
        self._note: widgets.HTML | None = None
        self.said = ""
        self.widget = widgets.HBox(self._controls, layout=_ROW)

    def say(self, html: str) -> None:
        """Show a note (HTML) below the controls; none when it is empty."""
        if html == self.said:
            return
        self.said = html
        if not html:
            self.widget.children = self._controls
            return
        if self._note is None:
            self._note = Html(layout=_NOTE)
        self._note.value = html
        self.widget.children = (*self._controls, self._note)
