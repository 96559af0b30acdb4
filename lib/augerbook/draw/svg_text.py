"""Strings of SVG: numbers, path data, escaped text, hatches and the outer element, shared by all pictures."""

from __future__ import annotations

import zlib
from collections.abc import Iterable, Sequence
from functools import cache

import numpy as np
import numpy.typing as npt

from augerbook.draw.style import FONT_STACK, HALO_WIDTH, HATCHES, PAPER, SVG_CSS, Anchor, Look, look, text_look

Floats = npt.NDArray[np.float64]

# Formatting floats is the slowest step of a live picture. Coordinates are rounded to a twentieth of a unit
# (invisible on a screen) and looked up in a table of ready strings, ten times faster than "%.2f".
_STEPS = 20
_LOWEST, _HIGHEST = -500, 2000


@cache
def _number_table() -> npt.NDArray[np.object_]:
    ticks = range(_LOWEST * _STEPS, _HIGHEST * _STEPS + 1)
    return np.array([f"{tick / _STEPS:g}" for tick in ticks], dtype=object)


def numbers(values: Floats) -> list[str]:
    """Finite numbers of any shape, flattened, as short decimal strings (to 0.05)."""
    flat = np.asarray(values, dtype=float).ravel()
    if flat.size == 0:
        return []
    if flat.min() < _LOWEST or flat.max() > _HIGHEST:
        return [f"{value:.2f}" for value in flat.tolist()]
    ticks = np.rint(flat * _STEPS).astype(np.intp) - _LOWEST * _STEPS
    strings: list[str] = _number_table()[ticks].tolist()
    return strings


def finite_runs(points: Floats) -> list[Floats]:
    """Split an (n, 2) array at its rows that are not finite; empty pieces are left out."""
    finite = np.isfinite(points).all(axis=1)
    if finite.all():
        return [points] if len(points) else []
    edges = np.flatnonzero(np.diff(np.concatenate(([False], finite, [False])).astype(np.int8)))
    return [points[start:stop] for start, stop in edges.reshape(-1, 2)]


def path_data(points: Floats, closed: bool = False) -> str:
    """The `d` attribute for an (n, 2) array of picture coordinates; rows of NaN break the path."""
    end = "Z" if closed else ""
    return "".join(f"M{' '.join(numbers(run))}{end}" for run in finite_runs(points))


def many_paths(outlines: Sequence[tuple[Floats, bool]]) -> list[str]:
    """`path_data` of many (points, closed): numpy is called once for all, not once for each."""
    if not outlines:
        return []
    together = np.concatenate([points for points, _ in outlines])
    if not np.isfinite(together).all():
        return [path_data(points, closed) for points, closed in outlines]
    strings = numbers(together)
    paths, start = [], 0
    for points, closed in outlines:
        stop = start + 2 * len(points)
        paths.append(f"M{' '.join(strings[start:stop])}{'Z' if closed else ''}")
        start = stop
    return paths


def escape(text: str) -> str:
    """Text made safe for element content and for attributes in double quotes."""
    for sign, entity in (("&", "&amp;"), ("<", "&lt;"), (">", "&gt;"), ('"', "&quot;")):
        text = text.replace(sign, entity)
    # control characters are not allowed in XML, not even escaped
    return "".join(sign for sign in text if sign >= " " or sign in "\t\n\r")


def short_id(*parts: str) -> str:
    """Prefix for the ids of one picture, made from texts that belong to it alone (its alt text)."""
    return f"p{zlib.crc32(chr(0).join(parts).encode()):08x}"


def paint(style: Look, fill_reference: str | None = None) -> str:
    """The presentation attributes of a look; `fill_reference` replaces the plain fill of a hatched one."""
    parts = [f'fill="{fill_reference or style.fill or "none"}"']
    if style.edge is None:
        parts.append('stroke="none"')
    else:
        parts.append(f'stroke="{style.edge}" stroke-width="{style.width:g}"')
        if style.dash:
            parts.append(f'stroke-dasharray="{" ".join(f"{part:g}" for part in style.dash)}"')
    if style.opacity < 1:
        parts.append(f'opacity="{style.opacity:g}"')
    return " ".join(parts)


def pattern(name: str, prefix: str) -> str:
    """`<pattern>` for the hatch of the style `name`, with the id `{prefix}-{name}`."""
    style = look(name)
    hatch = HATCHES[style.hatch or ""]
    size = f"{hatch.spacing:g}"
    half = f"{hatch.spacing / 2:g}"
    ground = f'<rect width="{size}" height="{size}" fill="{style.fill}"/>' if style.fill else ""
    turn = f' patternTransform="rotate({-hatch.angles[0]:g})"' if hatch.angles else ""
    if hatch.dots:
        quarter, far = f"{hatch.spacing / 4:g}", f"{hatch.spacing * 3 / 4:g}"
        marks = "".join(
            f'<circle cx="{x}" cy="{y}" r="0.9" fill="{style.hatch_colour}"/>'
            for x, y in ((quarter, quarter), (far, far))
        )
    else:
        lines = f"M0 {half}H{size}" + (f"M{half} 0V{size}" if len(hatch.angles) == 2 else "")
        marks = f'<path d="{lines}" stroke="{style.hatch_colour}" stroke-width="0.8" fill="none"/>'
    return (
        f'<pattern id="{prefix}-{name}" width="{size}" height="{size}" patternUnits="userSpaceOnUse"{turn}>'
        f"{ground}{marks}</pattern>"
    )


def styled(name: str, prefix: str) -> str:
    """Presentation attributes of the style `name` in a picture whose ids start with `prefix`."""
    style = look(name)
    return paint(style, f"url(#{prefix}-{name})" if style.hatch else None)


def patterns(names: Iterable[str], prefix: str) -> str:
    """The `<pattern>` elements that the styles in `names` need."""
    return "".join(pattern(name, prefix) for name in sorted(set(names)) if look(name).hatch)


@cache
def _text_paint(style_name: str, anchor: Anchor) -> str:
    style = text_look(style_name)
    weight = ' font-weight="bold"' if style.bold else ""
    halo = (
        f' paint-order="stroke" stroke="{PAPER}" stroke-width="{HALO_WIDTH:g}" stroke-linejoin="round"'
        if style.halo
        else ""
    )
    return f'text-anchor="{anchor}" font-size="{style.size:g}"{weight} fill="{style.colour}"{halo}'


def text_element(x: float, y: float, text: str, style_name: str, anchor: Anchor) -> str:
    """One line of text with its baseline at (x, y), in picture units."""
    return f'<text x="{x:.1f}" y="{y:.1f}" {_text_paint(style_name, anchor)}>{escape(text)}</text>'


def open_svg(width: float, height: float, title: str, alt: str) -> str:
    """The opening tag of a picture with its title, description and paper; closed by `</svg>`."""
    shown, spoken = escape(title), escape(alt)
    name = f"<title>{shown}</title>" if shown else ""
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" '
        f'viewBox="0 0 {width:g} {height:g}" role="img" aria-label="{spoken}" style="{SVG_CSS}" '
        f'font-family="{FONT_STACK}" stroke-linejoin="round" stroke-linecap="butt">'
        f'{name}<desc>{spoken}</desc><rect width="{width:g}" height="{height:g}" fill="{PAPER}"/>'
    )
