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
from augerbook.page.output_rules import LIVE, rules
from augerbook.page.unseen import unseen

_VIEW = "application/vnd.jupyter.widget-view+json"
# A widget keeps a margin on both sides, also where it is as wide as its box: the box would scroll by so much, and have
# a bar below it wherever bars take room.
_ROOM = f"""\
<style>
:is(.{LIVE}, .{LIVE} .widget-box) > .jupyter-widgets:not(.widget-box) {{
  max-width: calc(100% - 2 * var(--jp-widgets-margin, 2px)); }}
</style>"""
#: Characters of a text from which on its plain form is cut: a stored notebook holds both forms.
_LONG = 400


def display_with_still(panel: widgets.DOMWidget, still: Drawn, markdown: str, *, begun: bool = False) -> None:
    """Display a panel; where no kernel runs, the still picture and the Markdown stand in its place.

    Args:
        begun: something was displayed meanwhile, and with it the rules of the page.
    """
    panel.add_class(LIVE)
    shown = widgets.VBox([panel, unseen(_ROOM)], layout=widgets.Layout(width="100%"))
    if not begun:
        display(rules(), raw=True)
    # Nothing but the view, not even the text that a widget has by nature: what is stored then lacks this output.
    display({_VIEW: shown._repr_mimebundle_()[_VIEW]}, raw=True)
    picture, about = bundle(still.png(), still.alt)
    display(picture, metadata=about, raw=True)
    words = f"{markdown}\n\n*To move the sliders run this notebook: menu Run, Run All Cells.*"
    display({"text/markdown": words, "text/plain": plain_form(words)}, raw=True)


def plain_form(text: str) -> str:
    """Return a text for where no Markdown is shown: itself, or the first lines of a long one."""
    if len(text) <= _LONG:
        return text
    shown = text[:_LONG].rpartition("\n")[0] or text.partition("\n")[0]
    left = text.count("\n") - shown.count("\n")
    return f"{shown}\n... and {left} more lines" if left else text
