"""Headings of folded panels for those who have no pointer: ipywidgets opens them by a click alone.

A heading can be reached by the tabulator, says what it is and whether it is open, and opens by Enter or Space.
"""

from __future__ import annotations

import ipywidgets as widgets

from augerbook.page.unseen import script_html, unseen

# Panels appear one by one, so that it looks for them several times; one that is there already costs nothing.
_SCRIPT = (
    "const root=this.closest('.jp-OutputArea')||document.body;"
    "const headings='.jupyter-widget-Collapse-header';"
    "if(!root.augerbookHeadings){root.augerbookHeadings=true;"
    "root.addEventListener('keydown',(event)=>{const heading=event.target.closest(headings);"
    "if(heading&&(event.key==='Enter'||event.key===' ')){"
    "event.preventDefault();event.stopPropagation();heading.click()}})}"
    "const open=()=>{for(const heading of root.querySelectorAll(headings)){"
    "if(heading.hasAttribute('tabindex')){continue}"
    "heading.tabIndex=0;heading.setAttribute('role','button');const panel=heading.parentElement;"
    "const say=()=>heading.setAttribute('aria-expanded',"
    "String(panel.classList.contains('jupyter-widget-Collapse-open')));"
    "new MutationObserver(say).observe(panel,{attributes:true,attributeFilter:['class']});say()}};"
    "for(const wait of [0,500,2000,6000]){setTimeout(open,wait)}"
)


def panel_headings() -> widgets.HTML:
    """Return a widget without size that lets the panels shown together with it open by the keyboard."""
    return unseen(script_html(_SCRIPT))
