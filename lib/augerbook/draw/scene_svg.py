"""SVG back-end of a scene: plain strings, fast enough to draw anew at every step of a slider."""

from __future__ import annotations

from augerbook.draw.scene_layout import Outline, Sheet, Text
from augerbook.draw.style import VIEW_WIDTH
from augerbook.draw.svg_text import many_paths, numbers, open_svg, patterns, short_id, styled, text_element


def to_svg(sheet: Sheet) -> str:
    """The picture as one `<svg>` element that takes the width of its cell."""
    prefix = short_id(sheet.alt, sheet.title)
    body: list[str] = []
    used: set[str] = set()
    open_style = ""
    shapes = sheet.shapes
    paths = iter(many_paths([(s.points, s.closed) for s in shapes if isinstance(s, Outline)]))
    for shape in shapes:
        # neighbours of one style share a group, which halves the string
        style = "" if isinstance(shape, Text) else shape.style
        if style != open_style:
            if open_style:
                body.append("</g>")
            if style:
                body.append(f"<g {styled(style, prefix)}>")
                used.add(style)
            open_style = style
        if isinstance(shape, Text):
            body.append(text_element(shape.x, shape.y, shape.text, shape.style, shape.anchor))
        elif isinstance(shape, Outline):
            no_fill = "" if shape.closed else ' fill="none"'
            body.append(f'<path d="{next(paths)}"{no_fill}/>')
        else:
            centres = numbers(shape.centres)
            body += [
                f'<circle cx="{x}" cy="{y}" r="{r}"/>'
                for x, y, r in zip(centres[::2], centres[1::2], numbers(shape.radii), strict=True)
            ]
    if open_style:
        body.append("</g>")
    head = open_svg(VIEW_WIDTH, round(sheet.height, 1), sheet.title, sheet.alt)
    return f"{head}<defs>{patterns(used, prefix)}</defs>{''.join(body)}</svg>"
