"""Colours of text and edges on the page: those of the theme, light or dark, with the light ones as fallback."""

from __future__ import annotations

#: Text, edges that matter, and text that stands back.
INK = "var(--jp-ui-font-color1,#1f2328)"
EDGE = "var(--jp-ui-font-color2,#5b6570)"
QUIET = "var(--jp-ui-font-color2,#4a525b)"
#: An edge that hardly shows.
FAINT = "var(--jp-border-color1,#c3ccd4)"
#: A box for what a reader must not miss: the same in both themes.
NOTICE = "border-left:6px solid #9c3a10;background:#fdf1ea;color:#1f2328;padding:6px 10px;line-height:1.4"
DANGER = (
    "border:2px solid #1f2328;border-left-width:10px;background:#fdf1ea;color:#1f2328;padding:6px 10px;"
    "margin:0 0 6px;line-height:1.4"
)
