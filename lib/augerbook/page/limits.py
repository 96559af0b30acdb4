"""Limits that the browser must hold itself: what it once has sent has cost its time already.

A paste of megabytes would freeze the tab in its text area, and a file of tens of megabytes would break the line to the
kernel.
"""

from __future__ import annotations

from dataclasses import dataclass

import ipywidgets as widgets
from markupsafe import Markup

from augerbook.builds.reader import PLAIN_TEXT, SIZE_LIMIT
from augerbook.page.colours import NOTICE
from augerbook.page.plain import Html
from augerbook.page.unseen import script_html


@dataclass(frozen=True)
class Limits:
    """How much text goes to the kernel, and what is said of more.

    Attributes:
        pasted: characters of a text at most.
        uploaded: bytes of a file at most.
        paste: what to do instead of pasting so much, one sentence.
        file: how large such a file is, one sentence.
        form: completes "... is no text file: ".
    """

    pasted: int
    uploaded: int
    paste: str
    file: str
    form: str

    def too_much_pasted(self, characters: str) -> str:
        """Say that a pasted text is too long; ``characters`` is its length as text."""
        return (
            f"That is too long to be pasted here: {characters} characters, and at most {self.pasted} are taken. "
            f"Nothing was pasted. {self.paste}"
        )

    def too_much_uploaded(self, megabytes: str) -> str:
        """Say that a file is too large; ``megabytes`` is its size as text."""
        return (
            f"That file is too large: {megabytes} MB, and at most {self.uploaded / 1e6:g} MB are taken. Nothing was "
            f"loaded. {self.file}"
        )


BUILD_LIMITS = Limits(
    SIZE_LIMIT,
    2_000_000,
    "A build has some ten thousand: copy only the post that has it.",
    "A build file has some ten thousand characters.",
    PLAIN_TEXT,
)
TABLE_LIMITS = Limits(
    200_000,
    2_000_000,
    "Upload it as a file instead.",
    "That is some fifty thousand lines: leave out what you do not need.",
    "save the table as CSV in UTF-8",
)

_HERE = "@"
# The input of an upload widget is in no page: it is met on the way when its button clicks it. Listeners that catch come
# before those of the widget itself.
_GUARD = (
    "const root=this.closest('.jupyter-widget-Collapse-contents')||this.closest('.jp-OutputArea')||document.body;"
    "const said=this.nextElementSibling;"
    "const say=(words)=>{said.textContent=words;said.hidden=!words};"
    "if(!root.dataset.augerbookLimits){root.dataset.augerbookLimits='1';"
    "const paste=(event,data)=>{const area=event.target;if(area.tagName!=='TEXTAREA'||area.readOnly||!data){return}"
    "const text=data.getData('text');if(text.length>MOST_CHARACTERS)"
    "{event.preventDefault();event.stopPropagation();say('PASTED'.replace('@',text.length))}else{say('')}};"
    "root.addEventListener('paste',(event)=>paste(event,event.clipboardData),true);"
    "root.addEventListener('drop',(event)=>paste(event,event.dataTransfer),true);"
    "root.addEventListener('click',(event)=>{if(!event.target.closest('.widget-upload')){return}say('');"
    "const proto=HTMLInputElement.prototype,click=proto.click;"
    "const back=()=>{proto.click=click};setTimeout(back,0);"
    "proto.click=function(){back();if(!this.dataset.limited){this.dataset.limited='1';"
    "this.addEventListener('change',(change)=>{const file=this.files[0];"
    "if(file&&file.size>MOST_BYTES)"
    "{change.stopImmediatePropagation();say('UPLOADED'.replace('@',(file.size/1e6).toFixed(1)))}},true)}"
    "return click.call(this)}},true)}"
)


def browser_limits(limits: Limits) -> widgets.HTML:
    """Return a widget that refuses too long pastes and too large files around it, and says so in its place."""
    guard = _GUARD
    for word, value in (
        ("PASTED", limits.too_much_pasted(_HERE)),
        ("UPLOADED", limits.too_much_uploaded(_HERE)),
        ("MOST_CHARACTERS", str(limits.pasted)),
        ("MOST_BYTES", str(limits.uploaded)),
    ):
        guard = guard.replace(word, value)
    said = Markup("<div role='alert' hidden style='{}'></div>").format(NOTICE)
    return Html(
        script_html(guard) + said,
        layout=widgets.Layout(width="100%", margin="0"),
    )
