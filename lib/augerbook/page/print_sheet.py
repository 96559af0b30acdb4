"""A sheet to print: shown on the page, with a button that opens it alone in a new tab and asks the browser to print."""

from __future__ import annotations

from markupsafe import Markup

# As in `copy_box`: handlers of elements run where scripts do not. The sheet is cloned node by node, never written as
# text, so that nothing in it is read as HTML a second time.
_PRINT = (
    "const sheet=this.parentNode.querySelector('[data-sheet]');"
    "const tab=window.open('','_blank');"
    "if(!tab){this.textContent='The browser opened no tab: allow it for this page, then press again';return}"
    "tab.document.title=this.dataset.name;"
    "const look=tab.document.createElement('style');"
    "look.textContent='body{font:11pt sans-serif;color:#000;margin:12mm}"
    "table{border-collapse:collapse}td,th{border:1px solid #888;padding:4px 8px;text-align:left;vertical-align:top}"
    "svg{max-width:100%;height:auto}h1{font-size:15pt}h2{font-size:12pt;margin:6mm 0 2mm}"
    "tr,svg,li{break-inside:avoid}';"
    "tab.document.head.appendChild(look);"
    "tab.document.body.appendChild(tab.document.importNode(sheet,true));"
    "tab.focus();setTimeout(()=>tab.print(),300)"
)
_BOX = Markup(
    "<div><button type='button' class='jupyter-button' style='width:auto;padding:0 12px' aria-live='polite' "
    "data-name='{name}' onclick=\"" + _PRINT.replace("{", "{{").replace("}", "}}") + '">{words}</button>'
    "<div style='margin-top:6px;max-height:320px;overflow:auto' tabindex='0' role='region' aria-label='{name}'>"
    "<div data-sheet>{sheet}</div></div></div>"
)


def print_html(sheet: Markup, words: str, name: str) -> Markup:
    """Return a sheet (HTML) under a button with ``words`` on it; ``name`` is the title of the printed page."""
    return _BOX.format(sheet=sheet, words=words, name=name)
