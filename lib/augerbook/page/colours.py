"""Colours of text and edges on the page: those of the theme, light or dark, with the light ones as fallback."""

from __future__ import annotations

#: Text, edges that matter, and text that stands back.
INK = "var(--jp-ui-font-color1,#1f2328)"
EDGE = "var(--jp-ui-font-color2,#5b6570)"
QUIET = "var(--jp-ui-font-color2,#4a525b)"
#: An edge that hardly shows.
FAINT = "var(--jp-border-color1,#c3ccd4)"
