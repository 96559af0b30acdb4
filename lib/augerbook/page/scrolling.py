"""Lets nothing that is gone to lie behind the strip that stays, and holds a heading in its place when it is pressed.

What brings a place into view asks the browser for it, and the browser takes what scrolls for free up to its edge. A
margin around each such place, as high as the strip, keeps it below: said once, here, so that no one who scrolls need
know of the strip. Padding of what scrolls would do the same, and would scroll the page away for each of the strip's own
chips that is gone to, though they are in view where they are.

The tabulator heeds no such margin, so that after each press of it the place is asked for once more.

Where the strip itself holds more than it shows, it says so: bars to scroll by show themselves on some systems only
while one scrolls.

Of the panels below the page one is open at a time. The one that closes may be long and lie above the heading that was
pressed, which would leave the window with all that it opens.
"""

from __future__ import annotations

import ipywidgets as widgets
from markupsafe import Markup

from augerbook.page.output_rules import LIVE
from augerbook.page.page_rules import STAYING
from augerbook.page.unseen import AGAIN_MS, ROOT, script_html, unseen

#: Pixels between the strip and what stands below it.
_GAP = 8
#: So many pixels beyond the strip's edge hide nothing: the margin below its last line.
_NEXT_TO_NOTHING = 6
#: What is gone to: all that takes the keyboard, and what a jump shows.
_GONE_TO = "a,button,input,select,textarea,summary,details,[tabindex],.jupyter-widget-Collapse"

_STYLE_SHEET = f"""\
<style>
.{LIVE} :is({_GONE_TO}) {{ scroll-margin-top: var(--augerbook-covered, 0px); }}
.{STAYING}, .{STAYING} * {{ scroll-margin-top: 0 !important; }}
</style>"""
_SCRIPT = (
    f"{ROOT}"
    # A page that is run again has a new strip in the same output, or, once retired, none.
    "if(!root.augerbookScrolling){"
    f"const strip=()=>root.querySelector('.{STAYING}');"
    "const more=()=>{const one=strip();if(one){"
    f"one.toggleAttribute('data-more',one.scrollHeight-one.scrollTop-one.clientHeight>{_NEXT_TO_NOTHING})}}}};"
    "const told=new ResizeObserver(()=>{const one=strip();more();root.style.setProperty('--augerbook-covered',"
    f"`${{one?one.offsetHeight+{_GAP}:0}}px`)}});"
    "root.addEventListener('scroll',more,true);"
    "root.augerbookScrolling=()=>{const one=strip();if(one){told.observe(one);"
    "for(const inside of one.children){told.observe(inside)}}};"
    # The keyboard moves on right after its key was heard; what is given back to it later is left where it lies.
    "let tabbed=false;"
    "root.addEventListener('keydown',(event)=>{if(event.key==='Tab'){tabbed=true;"
    "setTimeout(()=>{tabbed=false})}},true);"
    "root.addEventListener('focusin',(event)=>{if(tabbed){event.target.scrollIntoView({block:'nearest'})}});"
    "const scrolls=(one)=>{let at=one.parentElement;"
    "while(at&&!['auto','scroll'].includes(getComputedStyle(at).overflowY)){at=at.parentElement}"
    "return at||document.scrollingElement};"
    # Panels open and close while the click goes through the heading: before it comes there, and after.
    "let pressed=null,was=0;"
    "root.addEventListener('click',(event)=>{pressed=event.target.closest('.jupyter-widget-Collapse-header');"
    "if(pressed){was=pressed.getBoundingClientRect().top}},true);"
    # One press may bring about another, of a heading elsewhere, and then show it: each is dealt with once.
    "root.addEventListener('click',()=>{const one=pressed;pressed=null;"
    "if(one){scrolls(root).scrollTop+=one.getBoundingClientRect().top-was}})"
    "}"
    f"for(const wait of {AGAIN_MS}){{setTimeout(root.augerbookScrolling,wait)}}"
)


def scrolling() -> widgets.HTML:
    """Return a widget without size that does so for the page that it is shown together with."""
    return unseen(Markup(_STYLE_SHEET) + script_html(_SCRIPT))
