"""A number against its limit as a small bar, never without words."""

from __future__ import annotations

import math

from augerbook.draw.style import FONT_STACK, INK, PAPER, text_width
from augerbook.draw.svg_text import escape

_LEFT, _LENGTH = 10.0, 200.0
_TOP, _BOTTOM, _HEIGHT = 13.0, 26.0, 34.0
# The three zones differ in lightness, and the one beyond the limit is ruled as well.
_FINE, _TIGHT, _BEYOND = "#eef1f4", "#c3ccd4", "#9aa4ae"


def margin_bar(ratio: float, good: float, limit: float, words: str) -> str:
    """SVG of a bar on which a needle shows where `ratio` stands: fine, tight, or beyond the limit.

    Less is better when `good` < `limit`, more is better when `good` > `limit`. The thick line is the limit,
    the thin one is good. An arrow at the end of the bar means that the number lies outside of it; without a
    number (NaN) there is no needle. `words` says the same in plain text and stands beside the bar.

    Raises ValueError when there are no words, or when `good` and `limit` are not two different positive
    numbers.
    """
    if not words.strip():
        raise ValueError("A margin needs words beside its bar: say how the number stands.")
    if not (0 < good < math.inf and 0 < limit < math.inf) or good == limit:
        raise ValueError(f"'good' and 'limit' must be two positive numbers that differ: {good} and {limit}.")
    end = 1.4 * max(good, limit)

    def place(value: float) -> float:
        return _LEFT + _LENGTH * min(max(value / end, 0.0), 1.0)

    low, high = place(min(good, limit)), place(max(good, limit))
    right = _LEFT + _LENGTH
    less_is_better = good < limit
    first, last = (_FINE, _BEYOND) if less_is_better else (_BEYOND, _FINE)
    start, stop = (high, right) if less_is_better else (_LEFT, low)
    count = math.ceil((stop - start) / 4)
    rules = "".join(f"M{start + 4 * k:g} {_TOP:g}V{_BOTTOM:g}" for k in range(1, count))
    zones = "".join(
        f'<rect x="{x0:.1f}" y="{_TOP:g}" width="{x1 - x0:.1f}" height="{_BOTTOM - _TOP:g}" fill="{fill}"/>'
        for x0, x1, fill in ((_LEFT, low, first), (low, high, _TIGHT), (high, right, last))
    )
    width = right + 14 + text_width(words)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width:.0f} {_HEIGHT:g}" role="img" '
        f'aria-label="{escape(words)}" style="width:{width:.0f}px;max-width:100%;height:auto;'
        f'vertical-align:middle" font-family="{FONT_STACK}">'
        f'<rect width="{width:.0f}" height="{_HEIGHT:g}" rx="4" fill="{PAPER}"/>{zones}'
        f'<path d="{rules}" stroke="#5b6570" stroke-width="0.8"/>'
        f'<rect x="{_LEFT:g}" y="{_TOP:g}" width="{_LENGTH:g}" height="{_BOTTOM - _TOP:g}" fill="none" '
        f'stroke="{INK}" stroke-width="0.8"/>'
        f'<path d="M{place(good):.1f} {_TOP:g}V{_BOTTOM:g}" stroke="{INK}" stroke-width="1"/>'
        f'<path d="M{place(limit):.1f} {_TOP - 3:g}V{_BOTTOM + 4:g}" stroke="{INK}" stroke-width="3"/>'
        f"{_needle(ratio, end, place(ratio) if math.isfinite(ratio) else right)}"
        f'<text x="{right + 10:g}" y="24" font-size="14" fill="{INK}">{escape(words)}</text></svg>'
    )


def _needle(ratio: float, end: float, x: float) -> str:
    if math.isnan(ratio):
        return ""
    top, middle, bottom = _TOP + 1, (_TOP + _BOTTOM) / 2, _BOTTOM - 1
    if ratio > end:
        x = _LEFT + _LENGTH
        shape = f"M{x - 13:.1f} {top:g}L{x - 1:.1f} {middle:g}L{x - 13:.1f} {bottom:g}Z"
    elif ratio < 0:
        x = _LEFT
        shape = f"M{x + 13:.1f} {top:g}L{x + 1:.1f} {middle:g}L{x + 13:.1f} {bottom:g}Z"
    else:
        point = f"L{x + 1.2:.1f} {top:g}V{_BOTTOM:g}H{x - 1.2:.1f}V{top:g}"
        shape = f"M{x - 6:.1f} 3H{x + 6:.1f}{point}Z"
    return f'<path d="{shape}" fill="{INK}" stroke="{PAPER}" stroke-width="1.2"/>'
