"""How the start page is laid out beyond what a widget's layout can say: a strip that stays in view, tabs that wrap."""

from __future__ import annotations

import ipywidgets as widgets

from augerbook.page.stand_in import LIVE
from augerbook.page.unseen import unseen

#: Class of what stays in view at the top of the notebook while the rest of its panel scrolls below it.
STAYING = "augerbook-staying"

# What stays is held by the notebook's own scrolling area: nothing between the two may scroll or clip by itself.
_STYLE_SHEET = f"""\
<style>
.{STAYING} {{ position: sticky; top: 0; z-index: 3; max-height: 40vh; overflow-y: auto; flex: none;
  background: var(--jp-layout-color0, #fff); border-bottom: 1px solid var(--jp-border-color2, #bbb); }}
:is(.jp-Cell, .jp-Cell-outputWrapper, .jp-OutputArea, .jp-OutputArea-child, .jp-OutputArea-output, .widget-box,
  .jupyter-widgets):not(.{STAYING}):has(.{STAYING}) {{ overflow: visible !important; contain: none; }}
.{LIVE} .jupyter-widget-Collapse-header, .{LIVE} .lm-TabBar-tab {{ color: var(--jp-ui-font-color1) !important; }}
.{LIVE} .lm-TabBar-content {{ flex-wrap: wrap; }}
.{LIVE} .lm-TabBar-content > .lm-TabBar-tab {{ flex: 0 0 auto; max-width: none; min-width: max-content; }}
.{LIVE} .jupyter-widget-tab > .lm-TabBar {{ max-height: none; height: auto; overflow: visible; }}
</style>"""


def page_rules() -> widgets.HTML:
    """Return a widget without size that lays out the page that it is shown together with."""
    return unseen(_STYLE_SHEET)
