"""What stands in for a live panel where no kernel runs: a still picture and a table, shown by turns with the panel.

The three are outputs of their own, so that any viewer of notebooks shows what it can: a page that is merely read, on
whatever site, has the picture and the table. Which of them a page of Jupyter shows is said by a style sheet, an output
too, since nothing of ours runs in a page whose kernel has ended.
"""

from __future__ import annotations

import ipywidgets as widgets
from IPython.display import display

from augerbook.draw.picture import Drawn
from augerbook.draw.still import bundle

_VIEW = "application/vnd.jupyter.widget-view+json"
_RULES, LIVE = "augerbook-rules", "augerbook-live"

# The outputs follow one another: rules, panel, picture, table. A stored page may lack the panel, or hold the view of
# one that is gone, in place of which Jupyter writes that it found no model: text without an element around it.
# Notebook 7 puts tall outputs into a box of 24 lines to scroll in, with a shadow (::after) inside.
_STYLE_SHEET = f"""\
<div class="{_RULES}"><style>
.jp-OutputArea-child:has(> * > .{_RULES}),
.jp-OutputArea-child:has(> * > .{_RULES}) + .jp-OutputArea-child:has(> .jupyter-widgets):not(:has(.jupyter-widgets *)),
.jp-OutputArea-child:has(.{LIVE}) + .jp-OutputArea-child,
.jp-OutputArea-child:has(.{LIVE}) + .jp-OutputArea-child + .jp-OutputArea-child {{ display: none; }}
.jp-mod-outputsScrolled .jp-OutputArea:has(.{_RULES}) {{ max-height: none; resize: none; }}
.jp-mod-outputsScrolled .jp-OutputArea:has(.{_RULES})::after {{ display: none; }}
</style></div>"""


def display_with_still(panel: widgets.DOMWidget, still: Drawn, markdown: str) -> None:
    """Display a panel; where no kernel runs, the still picture and the Markdown stand in its place."""
    panel.add_class(LIVE)
    display({"text/html": _STYLE_SHEET}, raw=True)
    # Nothing but the view, not even the text that a widget has by nature: what is stored then lacks this output.
    display({_VIEW: panel._repr_mimebundle_()[_VIEW]}, raw=True)
    picture, about = bundle(still.png(), still.alt)
    display(picture, metadata=about, raw=True)
    words = f"{markdown}\n\n*To move the sliders run this notebook: menu Run, Run All Cells.*"
    display({"text/markdown": words, "text/plain": words}, raw=True)
