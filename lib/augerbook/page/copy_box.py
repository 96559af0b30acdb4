"""A text to copy: shown in full, with a button that puts it on the clipboard."""

from __future__ import annotations

import ipywidgets as widgets
from markupsafe import Markup

from augerbook.page.plain import Html

# Widgets' HTML runs no scripts but does run handlers of elements. Nothing is called copied before the browser says that
# it is: where it forbids the clipboard, the text is selected, so that the reader's own copy command works.
_COPY = (
    "const area=this.parentNode.querySelector('textarea');"
    "const say=(words)=>{this.textContent=words;setTimeout(()=>{this.textContent=this.dataset.words},4000)};"
    "const done=()=>say('Copied');"
    "const select=()=>{area.focus();area.select();say('Not copied. It is selected now: press Ctrl+C')};"
    "area.select();"
    "if(navigator.clipboard&&window.isSecureContext){navigator.clipboard.writeText(area.value).then(done,select)}"
    "else if(document.execCommand('copy')){done()}"
    "else{select()}"
)


_BOX = Markup(
    "<div><button type='button' class='jupyter-button' style='width:auto;padding:0 12px' aria-live='polite' "
    "data-words='{words}'{off} onclick=\"" + _COPY.replace("{", "{{").replace("}", "}}") + '">{said}</button>'
    "<textarea readonly rows='{rows}' aria-label='{words}' spellcheck='false' style='display:block;width:100%;"
    "box-sizing:border-box;font-family:monospace;font-size:12px;margin-top:4px'>{text}</textarea></div>"
)


def copy_html(text: str, words: str, rows: int = 12) -> Markup:
    """Return a read-only text area under a button that copies it; without a text the button says so and is off."""
    said, off = (words, "") if text else ("Nothing to copy yet", " disabled")
    return _BOX.format(words=words, off=off, said=said, rows=rows, text=text)


class CopyBox:
    """A widget that shows a text with its copy button."""

    def __init__(self, words: str, rows: int = 12) -> None:
        self._words, self._rows = words, rows
        self.widget = Html(layout=widgets.Layout(width="100%"))
        self.show("")

    def show(self, text: str) -> None:
        """Exchange the text."""
        self.text = text
        self.widget.value = copy_html(text, self._words, self._rows)
