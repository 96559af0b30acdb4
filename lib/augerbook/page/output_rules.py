"""Which outputs of a cell a page of Jupyter shows: a style sheet, an output too. Imports nothing that takes long."""

from __future__ import annotations

RULES, LIVE, SOON = "augerbook-rules", "augerbook-live", "augerbook-soon"

# The outputs follow one another: rules, panel, picture, table. A stored page may lack the panel, or hold the view of
# one that is gone, in place of which Jupyter writes that it found no model: text without an element around it.
# Notebook 7 puts tall outputs into a box of 24 lines to scroll in, with a shadow (::after) inside.
_STYLE_SHEET = f"""\
.jp-OutputArea-child:has(> * > .{RULES}):has(~ .jp-OutputArea-child),
.jp-OutputArea-child:has(> * > .{RULES}) + .jp-OutputArea-child:has(> .jupyter-widgets):not(:has(.jupyter-widgets *)),
.jp-OutputArea-child:has(.{LIVE}) + .jp-OutputArea-child,
.jp-OutputArea-child:has(.{LIVE}) + .jp-OutputArea-child + .jp-OutputArea-child {{ display: none; }}
.jp-mod-outputsScrolled .jp-OutputArea:has(.{RULES}) {{ max-height: none; resize: none; }}
.jp-mod-outputsScrolled .jp-OutputArea:has(.{RULES})::after {{ display: none; }}
"""
#: What is shown while a panel is made goes by itself when anything follows; no viewer without the rules shows it.
_MEANWHILE = f".jp-OutputArea-child:not(:has(~ .jp-OutputArea-child)) .{SOON} {{ display: block !important; }}\n"


def rules(meanwhile: str = "") -> dict[str, str]:
    """Return the output that says which of those after it are shown in Jupyter, and holds what is seen before them."""
    sheet = _STYLE_SHEET + (_MEANWHILE if meanwhile else "")
    return {"text/html": f'<div class="{RULES}"><style>\n{sheet}</style>{meanwhile}</div>'}
