"""Keeps the page still under the hand: a strip that does not grow while one works, presses that count where they began.

What is computed arrives in the midst of a move or a press. A strip with one line more would push all below it down:
the handle that is dragged, the button that is pressed. So it keeps its height, and scrolls, until the hand has rested
for a moment. Where something moved all the same, the browser takes a press that began on a button and ended beside it
for none; with a mouse that has not been moved it was meant, and counts.
"""

from __future__ import annotations

import ipywidgets as widgets

from augerbook.page.page_rules import STAYING
from augerbook.page.unseen import FIND_FOLD, ROOT, script_html, unseen

#: Milliseconds after the last move, key or press until the strip takes the height that it needs.
_REST_MS = 1500
#: A mouse that has moved by so many pixels since it was pressed may have been drawn away on purpose.
_STILL_PX = 4
#: What can be pressed.
_PRESSED = "button:enabled,summary,[data-jump],[data-mend],.jupyter-widget-Collapse-header"

_SCRIPT = (
    f"{ROOT}{FIND_FOLD}"
    "if(!root.augerbookSteady){root.augerbookSteady=true;let pressed=null,resting=0;"
    f"const strip=()=>root.querySelector('.{STAYING}');"
    f"const wait=()=>{{clearTimeout(resting);resting=setTimeout(release,{_REST_MS})}};"
    "const release=()=>{const one=strip();if(pressed){wait()}else if(one){one.style.height=''}};"
    "const hold=()=>{const one=strip();"
    "if(one&&one.offsetHeight&&!one.style.height){one.style.height=`${one.offsetHeight}px`}wait()};"
    # Margins and chips are written anew; the one with the same mark stands for the one that was pressed.
    "const same=(one)=>{if(one.isConnected){return one}"
    "if(one.matches('details[data-fold] > summary')){const fold=find(one.parentElement.dataset.fold);"
    "return fold&&fold.querySelector('summary')}"
    "for(const mark of ['jump','mend']){if(one.dataset[mark]){"
    "return root.querySelector(`[data-${mark}='${CSS.escape(one.dataset[mark])}']`)}}return null};"
    "root.addEventListener('keydown',hold,true);"
    "root.addEventListener('pointerdown',(event)=>{hold();"
    f"const one=event.button===0?event.target.closest('{_PRESSED}'):null;"
    "pressed={one,x:event.clientX,y:event.clientY}},true);"
    "document.addEventListener('pointercancel',()=>{pressed=null},true);"
    # Of a scrollbar that is let go nothing is told.
    "root.addEventListener('pointermove',(event)=>{if(!event.buttons){pressed=null}},true);"
    "document.addEventListener('pointerup',(event)=>{const was=pressed;pressed=null;if(!was){return}hold();"
    "if(!was.one||event.pointerType!=='mouse'"
    f"||Math.hypot(event.clientX-was.x,event.clientY-was.y)>{_STILL_PX}){{return}}"
    # With a mouse the click follows before anything else; a touch clicks later, by itself.
    "let heard=false;const hear=(click)=>{heard=heard||was.one.contains(click.target)};"
    "root.addEventListener('click',hear,true);"
    "setTimeout(()=>{root.removeEventListener('click',hear,true);"
    "const one=heard?null:same(was.one);if(one){one.click()}})},true)}"
)


def steady() -> widgets.HTML:
    """Return a widget without size that keeps the page still that it is shown together with."""
    return unseen(script_html(_SCRIPT))
