"""The widget that a live picture sits in."""

from __future__ import annotations

import ipywidgets as widgets

from augerbook.page.plain import Html


def live_html(svg: str = "") -> widgets.HTML:
    """A widget that shows an SVG string over the width of its cell; assign to its `value` to move on.

    The picture carries its own alt text, width rule and paper (see `svg_text.open_svg`), so the widget adds
    nothing but its place.
    """
    return Html(value=svg, layout=widgets.Layout(width="100%", margin="0"))
