"""How the start page is laid out beyond what a widget's layout can say.

A strip stays in view, tabs wrap, and the arrows of lists show in either theme.
"""

from __future__ import annotations

import ipywidgets as widgets

from augerbook.page.output_rules import LIVE
from augerbook.page.unseen import unseen

#: Class of what stays in view at the top of the notebook while the rest of its panel scrolls below it.
STAYING = "augerbook-staying"

# What stays is held by the notebook's own scrolling area: nothing between the two may scroll or clip by itself, nor
# grow with what is too wide in it: that scrolls in its own box. What scrolls below the strip is stacked by itself: tabs
# are stacked fourteen high, and would lie above the strip and take its clicks. Pictures reach two pixels further to the
# side than the strip, and would show beside it: its shadow hides them.
#
# The arrow of a list is a picture, black in either theme: on a dark page it is drawn anew, as light as the text.
_ARROW = (
    "url(\"data:image/svg+xml,%3Csvg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 18 18'%3E"
    "%3Cpath fill='%23e0e0e0' d='M5.2 5.9 9 9.7l3.8-3.8 1.2 1.2-5 5-5-5z'/%3E%3C/svg%3E\")"
)
_STYLE_SHEET = f"""\
<style>
.{STAYING} {{ position: sticky; top: 0; z-index: 3; max-height: 40vh; overflow-y: auto; flex: none;
  display: block; background: var(--jp-layout-color0, #fff); border-bottom: 1px solid var(--jp-border-color2, #bbb);
  box-shadow: -3px 0 var(--jp-layout-color0, #fff), 3px 0 var(--jp-layout-color0, #fff); }}
.{STAYING}[data-more]::after {{ content: "▾ scroll for more"; display: block; position: sticky; bottom: 0; height: 18px;
  margin-top: -18px; margin-left: auto; width: max-content; padding: 0 8px; font-size: 12px; line-height: 18px;
  pointer-events: none; color: var(--jp-layout-color0, #fff); background: var(--jp-ui-font-color1, #1f2328); }}
:is(.jp-Cell, .jp-Cell-outputWrapper, .jp-OutputArea, .jp-OutputArea-child, .jp-OutputArea-output, .widget-box,
  .jupyter-widgets):not(.{STAYING}):has(.{STAYING}) {{ overflow: visible !important; contain: none;
  min-width: 0; }}
.{STAYING} ~ * {{ isolation: isolate; }}
.{LIVE} .widget-html-content {{ min-width: 0; }}
[data-jp-theme-light="false"] .{LIVE} {{ --jp-widgets-dropdown-arrow: {_ARROW}; }}
.{LIVE} .jupyter-widget-Collapse-header, .{LIVE} .lm-TabBar-tab {{ color: var(--jp-ui-font-color1) !important; }}
.{LIVE} .lm-TabBar-content {{ flex-wrap: wrap; }}
.{LIVE} .lm-TabBar-content > .lm-TabBar-tab {{ flex: 0 0 auto; max-width: none; min-width: max-content; }}
.{LIVE} .jupyter-widget-tab > .lm-TabBar {{ max-height: none; height: auto; overflow: visible; }}
</style>"""


def page_rules() -> widgets.HTML:
    """Return a widget without size that lays out the page that it is shown together with."""
    return unseen(_STYLE_SHEET)
