"""Names and values for the handles of sliders: ipywidgets labels its sliders, but a handle has no name of its own.

What a handle announces is its value with two decimals, for a logarithmic slider that of the exponent. Here it gets the
label's words as its name, and the value with its unit.
"""

from __future__ import annotations

import ipywidgets as widgets

from augerbook.page.unseen import script_html, unseen

#: Class of a slider whose place is the exponent of its value.
LOGARITHMIC = "augerbook-logarithmic"

# Sliders appear one by one, so that it looks for them several times; later moves cost nothing. The value is said anew
# whenever the slider has said its own.
_NAME = (
    "const around=this.closest('.jp-OutputArea')||document;"
    "const say=(slider,handle,unit)=>{"
    "const target=slider.querySelector('.noUi-target');if(!target||!target.noUiSlider){return}"
    "const place=Number(target.noUiSlider.get(true));"
    f"const value=slider.classList.contains('{LOGARITHMIC}')?10**place:place;"
    "const words=Number(value.toPrecision(4))+unit;"
    "if(handle.getAttribute('aria-valuetext')!==words){handle.setAttribute('aria-valuetext',words)}};"
    "const name=()=>{for(const slider of around.querySelectorAll('.widget-slider')){"
    "const label=slider.querySelector('.widget-label'),handle=slider.querySelector('.noUi-handle');"
    "if(!label||!handle||handle.hasAttribute('aria-label')){continue}"
    "const words=label.textContent,unit=words.match(/[(]([^()]+)[)]$/);"
    "handle.setAttribute('aria-label',words);"
    "const again=()=>say(slider,handle,unit?' '+unit[1]:'');"
    "new MutationObserver(again).observe(handle,{attributes:true,attributeFilter:['aria-valuetext']});again()}};"
    "for(const wait of [0,500,2000,6000]){setTimeout(name,wait)}"
)


def handle_names() -> widgets.HTML:
    """Return a widget without size that names the handles of the sliders shown together with it."""
    return unseen(script_html(_NAME))
