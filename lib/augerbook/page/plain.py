"""Texts and buttons as ipywidgets makes them, but with one style for all: each of its own is a model more to send."""

from __future__ import annotations

from typing import Any

import ipywidgets as widgets
from traitlets import default

_TEXT_STYLE = widgets.HTML().style
_BUTTON_STYLE = widgets.Button().style


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
