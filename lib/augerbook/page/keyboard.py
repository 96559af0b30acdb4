"""What panels need to be used without a pointer, or without eyes, beyond what ipywidgets and JupyterLab give them.

Handles: ipywidgets labels its sliders, but a handle has no name of its own, and announces its value with two decimals,
for a logarithmic slider that of the exponent. Here it gets the label's words as its name, and the value with its unit.

Headings of folded panels open by a click alone. Here they can be reached by the tabulator, say whether they are open,
and open by Enter or Space.

Keys: on a page that runs, JupyterLab takes single keys for itself, wherever the focus is but in a field for text: an
arrow moves on to another cell in place of the next entry of a list, a letter inserts a cell or cuts this one out. Here
they stay with what has the focus. With Ctrl, Alt or Cmd they are JupyterLab's as before: saving, running.
"""

from __future__ import annotations

import ipywidgets as widgets

from augerbook.page.output_rules import LIVE
from augerbook.page.unseen import AGAIN_MS, ROOT, script_html, unseen

#: Class of a slider whose place is the exponent of its value.
LOGARITHMIC = "augerbook-logarithmic"

# The value is said anew whenever the slider has said its own.
_HANDLES = (
    "const say=(slider,handle,unit)=>{"
    "const target=slider.querySelector('.noUi-target');if(!target||!target.noUiSlider){return}"
    "const place=Number(target.noUiSlider.get(true));"
    f"const value=slider.classList.contains('{LOGARITHMIC}')?10**place:place;"
    "const words=Number(value.toPrecision(4))+unit;"
    "if(handle.getAttribute('aria-valuetext')!==words){handle.setAttribute('aria-valuetext',words)}};"
    "const handles=()=>{for(const slider of root.querySelectorAll('.widget-slider')){"
    "const label=slider.querySelector('.widget-label'),handle=slider.querySelector('.noUi-handle');"
    "if(!label||!handle||handle.hasAttribute('aria-label')){continue}"
    "const words=label.textContent,unit=words.match(/[(]([^()]+)[)]$/);"
    "handle.setAttribute('aria-label',words);"
    "const again=()=>say(slider,handle,unit?' '+unit[1]:'');"
    "new MutationObserver(again).observe(handle,{attributes:true,attributeFilter:['aria-valuetext']});again()}};"
)
_HEADINGS = (
    "const head='.jupyter-widget-Collapse-header';"
    "const headings=()=>{for(const heading of root.querySelectorAll(head)){"
    "if(heading.hasAttribute('tabindex')){continue}"
    "heading.tabIndex=0;heading.setAttribute('role','button');const panel=heading.parentElement;"
    "const tell=()=>heading.setAttribute('aria-expanded',"
    "String(panel.classList.contains('jupyter-widget-Collapse-open')));"
    "new MutationObserver(tell).observe(panel,{attributes:true,attributeFilter:['class']});tell()}};"
)
# Asked of the window, before the document hears of it, where JupyterLab listens; once in a page of the browser.
_KEYS = (
    "if(!window.augerbookKeys){window.augerbookKeys=true;"
    "window.addEventListener('keydown',(event)=>{const at=event.target;"
    f"if(!at.closest||!at.closest('.{LIVE}')){{return}}"
    "at.toggleAttribute('data-lm-suppress-shortcuts',!(event.ctrlKey||event.metaKey||event.altKey));"
    "const heading=at.closest(head);if(heading&&(event.key==='Enter'||event.key===' ')){"
    "event.preventDefault();event.stopPropagation();heading.click()}},true)}"
)
# Sliders and panels appear one by one, so that it looks for them several times; later moves cost nothing.
_SCRIPT = (
    f"{ROOT}{_HANDLES}{_HEADINGS}{_KEYS}for(const wait of {AGAIN_MS}){{setTimeout(()=>{{handles();headings()}},wait)}}"
)


def for_the_keyboard() -> widgets.HTML:
    """Return a widget without size that does so for the panels that are shown together with it."""
    return unseen(script_html(_SCRIPT))
