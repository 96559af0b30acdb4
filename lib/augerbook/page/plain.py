"""Texts and buttons as ipywidgets makes them, but with one style for all: each of its own is a model more to send."""

from __future__ import annotations

from typing import Any

import ipywidgets as widgets
from ipywidgets.widgets.widget_string import HTMLStyle
from traitlets import default

_TEXT_STYLE, _BUTTON_STYLE = HTMLStyle(), widgets.ButtonStyle()


class Html(widgets.HTML):
    """A text; what is written into its style is written into that of all of them."""

    @default("style")
    def _shared_style(self) -> Any:
        return _TEXT_STYLE


class Button(widgets.Button):
    """A button; what is written into its style is written into that of all of them."""

    @default("style")
    def _shared_style(self) -> Any:
        return _BUTTON_STYLE
