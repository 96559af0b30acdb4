"""Brings a panel into sight, also while the page above it changes its height, as when a build was loaded from it."""

from __future__ import annotations

from augerbook.page.unseen import script_html, unseen

# Margins with nothing to say are short, and with all there is to say long: the panel below them would leave the window,
# and nothing be seen but what a notebook may be scrolled past its end.
_STAY = (
    "const panel=this.closest('.jupyter-widget-Collapse');"
    "const stay=()=>{if(panel){panel.scrollIntoView()}};"
    "for(const wait of [400,1500]){setTimeout(stay,wait)}"
)


class InSight:
    """``widget`` has no size, and stands in the panel."""

    def __init__(self) -> None:
        self.widget = unseen()
        self._turn = 0

    def keep(self) -> None:
        """Let the browser show the panel again once the page above it has its new height."""
        self._turn += 1
        self.widget.value = script_html(_STAY, turn=self._turn)
