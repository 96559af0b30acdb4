"""What a page brings along without showing it: a script that runs when it appears, or a style sheet."""

from __future__ import annotations

import ipywidgets as widgets
from markupsafe import Markup

from augerbook.page.plain import Html

#: For scripts: the output that their widget is shown in, as ``root``; the fold with a mark in it; and when to look for
#: widgets that appear one by one (ms).
ROOT = "const root=this.closest('.jp-OutputArea')||document.body;"
FIND_FOLD = "const find=(id)=>root.querySelector(`details[data-fold='${CSS.escape(id)}']`);"
AGAIN_MS = "[0,500,2000,6000]"

_NO_ROOM = widgets.Layout(height="0", margin="0", overflow="hidden")


def script_html(script: str, **data: object) -> Markup:
    """Return HTML that runs a script of our own when it appears; ``data`` stands in its element's data attributes.

    Widgets' HTML runs no scripts, but a picture that cannot be shown has a handler. The script has no double quotes.
    """
    assert '"' not in script
    given = Markup().join(Markup(" data-{}='{}'").format(name, value) for name, value in data.items())
    return Markup("<img src='data:,' alt='' hidden{} onerror=\"{}\">").format(given, Markup(script))


def unseen(html: str = "") -> widgets.HTML:
    """Return a widget without size."""
    return Html(html, layout=_NO_ROOM)
