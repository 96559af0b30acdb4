"""Names for the handles of sliders: ipywidgets labels its sliders, but leaves their handles without a name."""

from __future__ import annotations

import ipywidgets as widgets

# Widgets' HTML runs no scripts, but a picture that cannot be shown has a handler. Sliders appear one by one, so that it
# looks for them several times; later moves cost nothing.
_NAME = (
    "const around=this.closest('.jp-OutputArea')||document;"
    "const name=()=>{for(const slider of around.querySelectorAll('.widget-slider')){"
    "const label=slider.querySelector('.widget-label'),handle=slider.querySelector('.noUi-handle');"
    "if(label&&handle){handle.setAttribute('aria-label',label.textContent)}}};"
    "for(const wait of [0,500,2000,6000]){setTimeout(name,wait)}"
)


def handle_names() -> widgets.HTML:
    """Return a widget without size that names the handles of the sliders shown together with it."""
    return widgets.HTML(
        f"<img src='data:,' alt='' hidden onerror=\"{_NAME}\">",
        layout=widgets.Layout(height="0", margin="0", overflow="hidden"),
    )
