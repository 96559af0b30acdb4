"""A sheet to print, shown as it is printed, with a button that opens it alone in a new tab and asks to print it."""

from __future__ import annotations

from markupsafe import Markup

# As in `copy_box`: handlers of elements run where scripts do not. The sheet is cloned node by node, never written as
# text, so that nothing in it is read as HTML a second time. The margins are those of
# the paper: each side has them.
_PRINT = (
    "const sheet=this.parentNode.querySelector('[data-sheet]');"
    "const tab=window.open('','_blank');"
    "if(!tab){this.textContent='The browser opened no tab: allow it for this page, then press again';return}"
    "tab.document.title=this.dataset.name;"
    "const look=tab.document.createElement('style');"
    "look.textContent='@page{margin:10mm 12mm}body{margin:0;color:#000;background:#fff}"
    "@media screen{body{margin:10mm 12mm}}';"
    "tab.document.head.appendChild(look);"
    "tab.document.body.appendChild(tab.document.importNode(sheet,true));"
    "tab.focus();setTimeout(()=>tab.print(),300)"
)
#: How a sheet looks, on the page as on paper: it brings its rules along, which name it and so touch nothing else.
_RULES = """\
[data-sheet={look}] {{ font: {size}pt/1.2 sans-serif; max-width: {width}; }}
[data-sheet={look}] table {{ border-collapse: collapse; font-size: inherit; }}
[data-sheet={look}] :is(td, th) {{ border: 0.5pt solid #888; padding: {cell}; text-align: left; vertical-align: top; }}
[data-sheet={look}] svg {{ max-width: min(100%, 170mm) !important; height: auto; margin: auto; }}
[data-sheet={look}] h1 {{ font-size: {h1}pt; margin: 0 0 1mm; }}
[data-sheet={look}] h2 {{ font-size: {h2}pt; margin: {above} 0 1mm; break-after: avoid; }}
[data-sheet={look}] p {{ margin: 0 0 {below}; }}
[data-sheet={look}] :is(tr, svg, li, p) {{ break-inside: avoid; }}
[data-sheet={look}] .side {{ break-before: page; }}
[data-sheet={look}] .parts td:first-child, [data-sheet={look}] .lines td:not(:first-child) {{ white-space: nowrap; }}
[data-sheet={look}] :is(.fine, small) {{ font-size: {fine}pt; }}
[data-sheet={look}] ol {{ columns: 2; column-gap: 6mm; margin: 0; padding-left: 5mm; }}
"""
#: With room to write in, and as much on a side as is still read with ease.
ROOMY, COMPACT = "roomy", "compact"
_LOOKS = {
    ROOMY: _RULES.format(
        look=ROOMY, size=11, fine=9, width="none", cell="4px 8px", h1=15, h2=12, above="6mm", below="3mm"
    ),
    COMPACT: _RULES.format(
        look=COMPACT, size=8.5, fine=7.5, width="186mm", cell="0.15mm 0.8mm", h1=13, h2=9.5, above="2.5mm", below="1mm"
    ),
}
_BOX = Markup(
    "<div><button type='button' class='jupyter-button' style='width:auto;padding:0 12px' aria-live='polite' "
    "data-name='{name}' onclick=\"" + _PRINT.replace("{", "{{").replace("}", "}}") + '">{words}</button>'
    "<div style='margin-top:6px;overflow-x:auto' tabindex='0' role='region' aria-label='{name}'>"
    "<div data-sheet='{look}'><style>{rules}</style>{sheet}</div></div></div>"
)


def print_html(sheet: Markup, words: str, name: str, look: str = ROOMY) -> Markup:
    """Return a sheet (HTML) under a button with ``words`` on it; ``name`` is the title of the printed page.

    An element of the class 'side' begins a new side of paper; what is of the class 'fine' is set smaller.
    A table of the class 'lines' wraps in its first column alone, one of the class 'parts' everywhere but there.
    """
    return _BOX.format(sheet=sheet, words=words, name=name, look=look, rules=Markup(_LOOKS[look]))
