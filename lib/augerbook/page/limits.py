"""Limits that the browser must hold itself: what it once has sent has cost its time already.

A paste of megabytes would freeze the tab in its text area, and a file of tens of megabytes would break the line to the
kernel.
"""

from __future__ import annotations

import ipywidgets as widgets
from markupsafe import Markup

from augerbook.builds.reader import SIZE_LIMIT as MOST_PASTED
from augerbook.page.unseen import script_html

#: Bytes of a file that go to the kernel at most.
MOST_UPLOADED = 2_000_000


def too_much_pasted(characters: str) -> str:
    """Say that a pasted text is too long; ``characters`` is its length as text."""
    return (
        f"That is too long to be pasted here: {characters} characters, and at most {MOST_PASTED} are taken. Nothing "
        "was pasted. A build has a few thousand: copy only the post that has it."
    )


def too_much_uploaded(megabytes: str) -> str:
    """Say that a file is too large; ``megabytes`` is its size as text."""
    return (
        f"That file is too large: {megabytes} MB, and at most {MOST_UPLOADED / 1e6:g} MB are taken. Nothing was "
        "loaded. A build file has a few thousand characters."
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
    f"const text=data.getData('text');if(text.length>{MOST_PASTED})"
    "{event.preventDefault();event.stopPropagation();say('PASTED'.replace('@',text.length))}else{say('')}};"
    "root.addEventListener('paste',(event)=>paste(event,event.clipboardData),true);"
    "root.addEventListener('drop',(event)=>paste(event,event.dataTransfer),true);"
    "root.addEventListener('click',(event)=>{if(!event.target.closest('.widget-upload')){return}say('');"
    "const proto=HTMLInputElement.prototype,click=proto.click;"
    "const back=()=>{proto.click=click};setTimeout(back,0);"
    "proto.click=function(){back();if(!this.dataset.limited){this.dataset.limited='1';"
    "this.addEventListener('change',(change)=>{const file=this.files[0];"
    f"if(file&&file.size>{MOST_UPLOADED})"
    "{change.stopImmediatePropagation();say('UPLOADED'.replace('@',(file.size/1e6).toFixed(1)))}},true)}"
    "return click.call(this)}},true)}"
)


def browser_limits() -> widgets.HTML:
    """Return a widget that refuses too long pastes and too large files around it, and says so in its place."""
    guard = _GUARD.replace("PASTED", too_much_pasted(_HERE)).replace("UPLOADED", too_much_uploaded(_HERE))
    said = (
        "<div role='alert' hidden style='border-left:6px solid #9c3a10;background:#fdf1ea;color:#1f2328;"
        "padding:6px 10px;line-height:1.4'></div>"
    )
    return widgets.HTML(
        script_html(guard) + Markup(said),
        layout=widgets.Layout(width="100%", margin="0"),
    )
