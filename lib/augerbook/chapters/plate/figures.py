"""Figures of the chapter: how plates are held and bend, what gives way at a stop, ribs and spaced sheets."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import CubicSpline

from augerbook.chapters.bearing import bearing_stiffness, end_play
from augerbook.chapters.plate import (
    melt_springback,
    plate_deflection,
    plate_stiffness,
    plate_stress,
    screw_dip,
    screw_stiffness,
    springback_volume,
)
from augerbook.chapters.plate.models import OVERHANG
from augerbook.chapters.thrust import running_thrust
from augerbook.core.network import Solution
from augerbook.core.units import number
from augerbook.draw.scene import Scene, round_length
from augerbook.head.drive import coupling_stiffness
from augerbook.head.plate import (
    CLAMPED,
    FOUR_BOLTS,
    FOUR_CLAMPED,
    FOUR_EDGES,
    FOUR_POSTS,
    LOOSE_CLAMPED,
    LOOSE_SUPPORTED,
    TWO_EDGES,
    bolt_head_diameter,
    frame_stiffness,
    plate_span,
    plate_support,
    plate_thickness,
    plate_width,
    seat_diameter,
)
from augerbook.head.printing import retraction_volume

Floats = NDArray[np.float64]
#: Width, height and lower edge of a rectangle in a section, in any one unit.
Part = tuple[float, float, float]

_LOOSE = (LOOSE_CLAMPED, LOOSE_SUPPORTED)
#: What the drawing of a plate says without words.
_ROUND, _BARE = "annular, ", ", seat loose"
_HELD_RIM = (CLAMPED, LOOSE_CLAMPED, FOUR_CLAMPED)
_HELD_FLAT = (*_HELD_RIM, FOUR_BOLTS)
_RECTANGLES = (TWO_EDGES, FOUR_EDGES, FOUR_CLAMPED)
_SQUARES = (FOUR_BOLTS, FOUR_POSTS)
#: Rim beyond the support where it is clamped and where it rests, over the span.
_RIM, _LIP = 0.12, 0.04
#: Ribs as wide as the plate is thick and so many times as high; spaced sheets stand as far apart, middle to middle.
_TALL = 4


def second_moment(parts: Sequence[Part]) -> float:
    """Return the second moment of area of a section of rectangles that bend as one body, about its own middle."""
    wide, high, low = np.array(parts, dtype=float).T
    area, at = wide * high, low + high / 2
    middle = (area * at).sum() / area.sum()
    return float((wide * high**3 / 12 + area * (at - middle) ** 2).sum())


def stiffer_sections(width: float, thickness: float) -> dict[str, tuple[Part, ...]]:
    """Return a strip cut across, and what it can become: with two ribs, as heavy as these, in two spaced sheets."""
    plain = (width, thickness, 0.0)
    rib = (thickness, _TALL * thickness, thickness)
    heavier = thickness * _area([plain, rib, rib]) / _area([plain])
    return {
        "as it is": (plain,),
        "solid, as heavy as with ribs": ((width, heavier, 0.0),),
        "two ribs": (plain, rib, rib),
        "the same plate as two sheets": (
            (width, thickness / 2, 0.0),
            (width, thickness / 2, _TALL * thickness),
        ),
    }


def _area(parts: Sequence[Part]) -> float:
    return sum(wide * high for wide, high, _ in parts)


def strip_width(solution: Solution) -> float:
    """Return how wide a strip of the plate is that bends, in mm: its width, or the span of one that is round."""
    return solution.shown(plate_width if plate_width in solution.values else plate_span)


def stiffness_and_mass(section: str, width: float, thickness: float) -> tuple[float, float]:
    """Return bending stiffness and mass of one of the ``stiffer_sections``, over those of the plain strip."""
    sections = stiffer_sections(width, thickness)
    parts, plain = sections[section], sections["as it is"]
    return second_moment(parts) / second_moment(plain), _area(parts) / _area(plain)


# -- bent plates ---------------------------------------------------------------------------------------------------


def _kind(solution: Solution) -> str:
    return solution.choices[plate_support]


def _edge(solution: Solution) -> float:
    """Half of the plate's length across the supports, in mm."""
    kind = _kind(solution)
    beyond = OVERHANG if kind in _SQUARES else _RIM if kind in _HELD_RIM else _LIP
    return solution.shown(plate_span) * (0.5 + beyond)


def _line(solution: Solution) -> tuple[Floats, Floats]:
    """Return places across one half of the plate, in mm, and how far it is bent there, with one at the seat.

    Between seat and support it is the cubic with the slopes or the curvatures that both ends allow, as in a beam.
    """
    kind, half, edge = _kind(solution), solution.shown(plate_span) / 2, _edge(solution)
    seat = min(solution.shown(seat_diameter) / 2, 0.95 * half)
    ends = ((2, 0.0) if kind in _LOOSE else (1, 0.0), (1, 0.0) if kind in _HELD_FLAT else (2, 0.0))
    curve = CubicSpline([seat, half], [1.0, 0.0], bc_type=ends)
    across = np.concatenate([np.linspace(seat, half, 30), [edge]])
    sunk = np.append(curve(across[:-1]), curve(half, 1) * (edge - half))
    inner = 0.45 * seat
    return np.append(inner, across), np.append(1 + curve(seat, 1) * (inner - seat), sunk)


def _times(deflections: Sequence[float], scale: float, room: float) -> float:
    """How many times larger deflections in mm are drawn so that the largest takes up to ``room``."""
    largest = max((d for d in deflections if math.isfinite(d)), default=0.0)
    return round_length(room / (largest * scale)) if largest > 0 else 1.0


def _drawn(times: float) -> str:
    """Say how much larger than life something is drawn; nothing where it is drawn as it is."""
    if times == 1:
        return ""
    return f", drawn {times:g} times larger" if times > 1 else f", drawn {1 / times:g} times smaller"


def _sunk(solution: Solution) -> float:
    """How far the plate gives way at running thrust, in mm."""
    return solution.shown(plate_deflection) / 1000


def _side(
    scene: Scene,
    solution: Solution,
    at: tuple[float, float],
    scale: float,
    bow: float,
    *,
    down: bool,
    ghost: bool = True,
) -> Callable[[float, float], tuple[float, float]]:
    """Draw a plate from the side, bent by ``bow`` in the scene's unit, with what holds it; thrust to left or down.

    Returns where a place along the thrust from the face at rest, and across it, both in mm, stands in the scene.
    """

    def to(along: float, across: float) -> tuple[float, float]:
        x, y = at
        return (x + across * scale, y - along * scale) if down else (x - along * scale, y + across * scale)

    def block(along: float, across: float, deep: float, wide: float, style: str) -> None:
        a, b = along + deep, across + wide
        scene.polygon([to(along, across), to(a, across), to(a, b), to(along, b)], style)

    kind, span, thick = _kind(solution), solution.shown(plate_span), solution.shown(plate_thickness)
    half, edge, seat = span / 2, _edge(solution), solution.shown(seat_diameter) / 2
    high, sunk = 0.10 * span, bow / scale
    across, shape = _line(solution)
    for side in (1, -1):
        at_support = side * half
        if kind in _HELD_RIM:
            block(-high, at_support, high, side * _RIM * span, "grain")
            block(thick, at_support, high, side * _RIM * span, "grain")
        elif kind == FOUR_BOLTS:
            wide = solution.shown(bolt_head_diameter)
            block(-0.5 * high, at_support - wide / 2, 0.5 * high, wide, "grain")
            block(thick, at_support - wide / 2, 1.4 * high, wide, "grain")
        elif kind == FOUR_POSTS:
            block(thick, at_support - 0.02 * span, 1.4 * high, 0.04 * span, "grain")
        elif kind == TWO_EDGES:
            scene.circle(to(thick + 0.4 * high, at_support), 0.4 * high * scale, "solid_paper")
        else:
            foot = thick + 0.9 * high
            knife = [to(thick, at_support), to(foot, at_support + 0.04 * span), to(foot, at_support - 0.04 * span)]
            scene.polygon(knife, "solid_paper")
        if bow > 0 and ghost:
            inner = across[0]
            rest = [to(0, side * inner), to(0, side * edge), to(thick, side * edge), to(thick, side * inner)]
            scene.path(rest, "ghost")
        front = [to(sunk * s, side * a) for a, s in zip(across, shape, strict=True)]
        behind = [to(sunk * s + thick, side * a) for a, s in zip(across, shape, strict=True)]
        scene.polygon([*front, *behind[::-1]], "screw")
        if kind in _LOOSE:
            block(sunk - 0.6 * high, side * (seat - 0.05 * span), 0.6 * high, side * 0.05 * span, "solid_paper")
    if kind not in _LOOSE:
        block(sunk - 0.6 * high, -seat, 0.6 * high, 2 * seat, "solid_paper")
    return to


def _face(scene: Scene, solution: Solution, at: tuple[float, float], scale: float) -> None:
    """Draw a plate seen along the thrust, with what holds it."""
    kind, half = _kind(solution), solution.shown(plate_span) / 2 * scale
    edge, seat = _edge(solution) * scale, solution.shown(seat_diameter) / 2 * scale
    x, y = at

    def oblong(wide: float, high: float, style: str) -> None:
        corners = np.array([(-wide, -high), (wide, -high), (wide, high), (-wide, high), (-wide, -high)])
        draw = scene.path if style == "hidden" else scene.polygon
        draw(corners + at, style)

    if kind in _RECTANGLES:
        across = solution.shown(plate_width) / 2 * scale
        if kind == FOUR_CLAMPED:
            oblong(across + edge - half, edge, "grain")
            oblong(across, half, "screw")
        elif kind == FOUR_EDGES:
            oblong(across + edge - half, edge, "screw")
            oblong(across, half, "hidden")
        else:
            oblong(across, edge, "screw")
            for side in (1, -1):
                scene.line((x - across - 6, y + side * half), (x + across + 6, y + side * half), "heavy")
    elif kind in _SQUARES:
        oblong(edge, edge, "screw")
        corners = [(x + i * half, y + j * half) for i in (1, -1) for j in (1, -1)]
        head = solution.shown(bolt_head_diameter) / 2 * scale if kind == FOUR_BOLTS else 0.03 * half
        scene.circles(corners, max(head, 3.0), "grain" if kind == FOUR_BOLTS else "solid_ink")
    elif kind in _HELD_RIM:
        scene.circle(at, edge, "grain")
        scene.circle(at, half, "screw")
    else:
        scene.circle(at, edge, "screw")
        turn = np.linspace(0, 2 * np.pi, 73)
        scene.path(np.column_stack([x + half * np.cos(turn), y + half * np.sin(turn)]), "hidden")
    scene.circle(at, seat, "solid_paper")
    scene.circle(at, 0.8 * seat if kind in _LOOSE else 0.45 * seat, "solid_paper")


def draw_kinds(solutions: Sequence[Solution]) -> Scene:
    """Draw plates that are held in different ways, from the side and along the thrust, with stiffness and stress."""
    wide, high, columns = 800 / 3, 186.0, 3
    rows = math.ceil(len(solutions) / columns)
    span = max(s.shown(plate_span) for s in solutions)
    scale = 88 / span
    times = _times([_sunk(s) for s in solutions], scale, 32)
    words = "; ".join(f"{_kind(s)}: {s.text(plate_stiffness)} and {s.text(plate_stress)}" for s in solutions)
    scene = Scene(
        width=800, height=rows * high,
        title=f"One plate, held in {len(solutions)} ways; bending{_drawn(times).removeprefix(',')}",
        alt=f"The same plate from the side and from the front, held in different ways, with its stiffness and its peak "
        f"stress at the design thrust. {words}.",
    )  # fmt: skip
    for place, solution in enumerate(solutions):
        left, floor = place % columns * wide, (rows - 1 - place // columns) * high
        middle = floor + 70
        kind = _kind(solution)
        sunk = _sunk(solution)
        bow = sunk * scale * times if math.isfinite(sunk) else 0.0
        scene.label((left + 12, floor + high - 18), kind.removesuffix(_BARE).removeprefix(_ROUND), "start", "strong")
        figures = f"{solution.text(plate_stiffness)}, {solution.text(plate_stress)}"
        loose = ", seat loose" if kind in _LOOSE else ""
        scene.label((left + 12, floor + high - 38), figures + loose, "start", "small")
        to = _side(scene, solution, (left + 66, middle), scale, bow, down=False, ghost=False)
        ring = solution.shown(seat_diameter) / 2 - 0.025 * span
        for across in (ring, -ring) if kind in _LOOSE else (0.0,):
            x, y = to(bow / scale - 0.06 * span, across)
            scene.arrow((x + 34, y), (x + 2, y), "force")
        _face(scene, solution, (left + 178, middle), scale)
    return scene


def draw_seats(housed: Solution, bare: Solution) -> Scene:
    """Draw a plate whose bearing sits in a housing that is bolted flat, and one whose bearing's ring lies bare."""
    both = (("housing bolted flat", housed), ("bare ring", bare))
    scale = 270 / (2 * max(_edge(s) for _, s in both))
    times = _times([_sunk(s) for _, s in both], scale, 40)
    told = "; ".join(f"{words}: {s.text(plate_stiffness)}" for words, s in both)
    scene = Scene(
        width=800, height=205, title=f"The same plate, the same thrust; bending{_drawn(times).removeprefix(',')}",
        alt="Two plates cut through their middle. Under a housing that is bolted flat the plate stays level below the "
        f"bearing and bends only beside it. Under a bare ring it tilts like a funnel. Stiffness: {told}.",
    )  # fmt: skip
    for (words, solution), x in zip(both, (200.0, 600.0), strict=True):
        bow = _sunk(solution) * scale * times
        to = _side(scene, solution, (x, 98), scale, bow, down=True)
        _, top = to(bow / scale - 0.06 * solution.shown(plate_span), 0)
        thrust = solution.text(running_thrust)
        if _kind(solution) in _LOOSE:
            for side in (1, -1):
                at = side * (solution.shown(seat_diameter) / 2 - 0.025 * solution.shown(plate_span)) * scale
                scene.arrow((x + at, top + 52), (x + at, top + 2), "force")
            scene.label((x, top + 64), f"thrust {thrust}", style="force")
        else:
            scene.arrow((x, top + 52), (x, top + 2), "force", f"thrust {thrust}")
        scene.label((x, 22), f"{words}: {solution.text(plate_stiffness)}", style="strong")
    return scene


def draw_bent(solution: Solution) -> Scene:
    """Draw the plate bent under its seat, larger than life; below it what gives way in the head, as a bar."""
    span, thick, seat = (solution.shown(q) for q in (plate_span, plate_thickness, seat_diameter))
    scale = 560 / (2 * _edge(solution))
    sunk = _sunk(solution)
    times = _times([sunk], scale, 52)
    bow = sunk * scale * times if math.isfinite(sunk) else 0.0
    bends = f"bends {solution.text(plate_deflection)}" if math.isfinite(sunk) else "no figure"
    told = (
        f"Under {solution.text(running_thrust)} it {bends}{_drawn(times)}; below the seat it stays flat."
        if bow > 0
        else "There is no figure for its bending."
    )
    known = math.isfinite(solution[screw_dip])
    in_all = solution.text(screw_dip) if known else "no figure"
    if known:
        parts = ", ".join(f"{words} {number(100 * share, 2)} %" for share, _, words in _shares(solution))
        told += f" Below it a bar of what gives way in the head, {in_all} in all: {parts}."
    seat_at = -bow - thick * scale - 20
    floor = min(seat_at - 30, -(0.12 * span + thick) * scale - 16)
    ceiling = max(96.0, 0.06 * span * scale - bow + 82)  # room for the arrow on the seat and its word
    scene = Scene(
        width=800, height=ceiling - floor + 112, origin=(-400, floor - 112),
        title=f"The plate bends: {_kind(solution)}",
        alt=f"Plate from the side, to scale: {thick:.3g} mm thick, {span:.3g} mm from support to support, with a seat "
        f"of {seat:.3g} mm. {told}",
    )  # fmt: skip
    to = _side(scene, solution, (0, 0), scale, bow, down=True)
    _, top = to(bow / scale - 0.06 * span, 0)
    scene.arrow((0, top + 58), (0, top + 2), "force", f"thrust {solution.text(running_thrust)}")
    scene.dimension((-span / 2 * scale, floor), (span / 2 * scale, floor), f"span {span:.3g} mm")
    x = seat / 2 * scale
    scene.dimension((-x, seat_at), (x, seat_at), f"seat {seat:.3g} mm", text_at="q")
    edge = _edge(solution) * scale
    scene.dimension((-edge - 16, -thick * scale), (-edge - 16, 0), f"{thick:.3g} mm", text_at="left")
    if bow > 0:
        place = (0.5 * seat + 0.05 * span) * scale
        scene.dimension((place, 0), (place, -bow), "")
        scene.label((76, 66), f"{bends}{_drawn(times)}", "start")
        scene.line((place, 2), (place, 54), "thin")
    end = _bar(scene, floor - 72, "gives way", [(share, style) for share, style, _ in _shares(solution)], -290, 540)
    scene.label(((max(end, 250) if known else end) + 10, floor - 54), in_all, "start")
    _legend(scene, _KEY, -290, 112.0)
    return scene


def draw_sheets() -> Scene:
    """Draw a sheet bent over two bars, two that lie loose on each other, and the two bonded: each under one force."""
    panels = (
        ("one sheet", 1, False, [((1.0, 1.0, 0.0),)]),
        ("two, lying loose", 2, False, [((1.0, 1.0, 0.0),), ((1.0, 1.0, 0.0),)]),
        ("one, twice as thick", 2, True, [((1.0, 2.0, 0.0),)]),
    )
    thick, half, sag = 13.0, 96.0, 44.0
    one = second_moment([(1.0, 1.0, 0.0)])
    stiff = [sum(second_moment(body) for body in bodies) / one for *_, bodies in panels]
    scene = Scene(
        width=800, height=178, title="Twice as thick is more than twice as stiff",
        alt=f"Three beams on two bars under the same force. Two loose sheets bend half as far as one and slide on each "
        f"other; bonded into one they bend only 1/{stiff[2]:g} as far.",
    )  # fmt: skip
    middle = CubicSpline([0.0, half], [1.0, 0.0], bc_type=((1, 0.0), (2, 0.0)))
    x = np.linspace(-half, half, 81)
    shape = middle(abs(x))
    for (words, count, bonded, _), times, left in zip(panels, stiff, (134.0, 400.0, 666.0), strict=True):
        drop = sag / times
        y = -drop * shape
        turn = np.arctan(np.gradient(y, x))
        normal = np.column_stack([-np.sin(turn), np.cos(turn)])
        at = np.column_stack([left + x, 96 + y])
        for side in (1, -1):
            scene.circle((left + side * half * 0.94, 96 - thick * 0.62 - drop * 0.06), thick * 0.45, "void")
        for sheet in range(count):
            low, high = (0, count) if bonded else (sheet, sheet + 1)
            # Each sheet keeps its length: where it is bent inwards, a loose one sticks out beyond the other.
            out = (0.0 if bonded else sheet * thick * turn[-1]) * np.column_stack([np.cos(turn), np.sin(turn)])
            line = np.vstack([at[:1] - out[:1], at, at[-1:] + out[-1:]])
            across = np.vstack([normal[:1], normal, normal[-1:]])
            if not (bonded and sheet):
                scene.polygon(
                    np.vstack([line + across * (low * thick), (line + across * (high * thick))[::-1]]), "screw"
                )
        top = 96 - drop + count * thick
        scene.arrow((left, top + 38), (left, top + 2), "force")
        scene.label((left, 30), words, style="strong")
        scene.label((left, 12), f"stiffness {times:g}", style="small")
    return scene


# -- what gives way ------------------------------------------------------------------------------------------------

_SPRINGS = (
    ("screw", screw_stiffness, "screw"),
    ("joint", coupling_stiffness, "void"),
    ("bearing", bearing_stiffness, "grain"),
    ("plate", plate_stiffness, "melt"),
    ("frame", frame_stiffness, "soft"),
)
_KEY = (*((words, style) for words, _, style in _SPRINGS), ("play", "plastic"))


def _shares(solution: Solution) -> list[tuple[float, str, str]]:
    """Return what each spring, and the play, adds to the dip, as shares of it, with style and name."""
    whole, thrust = solution[screw_dip], solution[running_thrust]
    shares = [(thrust / solution[q] / whole, style, words) for words, q, style in _SPRINGS]
    return [*shares, (solution[end_play] / whole, "plastic", "play")]


def _bar(scene: Scene, y: float, name: str, parts: Sequence[tuple[float, str]], left: float, long: float) -> float:
    """Draw a named bar of parts (share of ``long``, style) and return where it ends."""
    scene.label((left - 12, y + 18), name, anchor="end", style="strong")
    for share, style in parts:
        if share > 0:  # neither nothing nor no figure
            scene.rectangle((left, y), share * long, 36, style)
            left += share * long
    return left


def _legend(scene: Scene, styles: Sequence[tuple[str, str]], left: float, step: float) -> None:
    floor = scene.window[1]
    for place, (words, style) in enumerate(styles):
        scene.rectangle((left + step * place, floor + 12), 20, 16, style)
        scene.label((left + step * place + 27, floor + 20), words, "start", "small")


def draw_blob(named: Sequence[tuple[str, Solution]]) -> Scene:
    """Draw for each named build what the machine takes back at a stop, and what springs, play and melt push out."""
    rows, told = [], []
    for name, solution in named:
        taken, sprung, melt = (solution[q] for q in (retraction_volume, springback_volume, melt_springback))
        by_play = sprung * solution[end_play] / solution[screw_dip]
        parts = [((sprung - by_play) / taken, "screw"), (by_play / taken, "grain"), (melt / taken, "melt")]
        texts = [solution.text(q) for q in (retraction_volume, springback_volume, melt_springback)]
        rows.append((name, [(1.0, "void")], texts[0]))
        rows.append(("", parts, f"{texts[1]} + {texts[2]}"))
        told.append(f"{name} takes back {texts[0]}; springs and play push out {texts[1]}, the squeezed melt {texts[2]}")
    left = 80.0
    long = 420.0 / max(sum(share for share, _ in parts) for _, parts, _ in rows)
    scene = Scene(
        width=800, height=46 + 48 * len(rows),
        title="Taken back at a stop, and pushed out again; each build on its own scale",
        alt=f"Two bars for each build, each build on its own scale: {'. '.join(told)}.",
    )  # fmt: skip
    for place, (name, parts, words) in enumerate(rows):
        y = 48.0 * (len(rows) - place) + 2
        end = _bar(scene, y, name, parts, left, long)
        scene.label((end + 12, y + 18), words, anchor="start")
    _legend(scene, [("taken back", "void"), ("springs", "screw"), ("play", "grain"), ("melt", "melt")], left, 150.0)
    return scene


def draw_sections(solution: Solution) -> Scene:
    """Draw the plate cut across, with ribs, as two spaced sheets and thicker: what each buys as a beam."""
    thick = solution.shown(plate_thickness)
    wide = strip_width(solution)
    sections = stiffer_sections(wide, thick)
    scale = min(210 / wide, 84 / ((_TALL + 1) * thick))
    bought = {words: stiffness_and_mass(words, wide, thick) for words in sections}
    told = "; ".join(f"{w}: {k:.2g} times as stiff, {m:.2g} times as heavy" for w, (k, m) in bought.items())
    scene = Scene(
        width=800, height=226, title=f"A strip {wide:.3g} mm wide and {thick:.3g} mm thick, cut across (an estimate)",
        alt=f"Four sections to scale, with bending stiffness as a beam and mass over those of the plain strip. {told}.",
    )  # fmt: skip
    for place, (words, parts) in enumerate(sections.items()):
        x, y = 60 + 400 * (place % 2), 170.0 if place < 2 else 30.0
        ribs = [part for part in parts if part[0] < wide]
        for part in parts:
            if part[0] == wide:
                scene.rectangle((x, y + part[2] * scale), wide * scale, part[1] * scale, "screw")
        for number_of, rib in enumerate(ribs):
            at = x + (1 + 2 * number_of) / (2 * len(ribs)) * wide * scale
            scene.rectangle((at - rib[0] * scale / 2, y + rib[2] * scale), rib[0] * scale, rib[1] * scale, "screw")
        if len(parts) == 2:
            for side in (0.18, 0.82):
                low, high = parts[0][1] * scale, parts[1][2] * scale
                scene.rectangle((x + side * wide * scale - 5, y + low), 10, high - low, "wall")
        stiff, heavy = bought[words]
        scene.label((x, y - 14), words, "start", "strong")
        scene.label((x + wide * scale + 14, y + 26), f"stiffness × {stiff:.2g}", "start")
        scene.label((x + wide * scale + 14, y + 7), f"mass × {heavy:.2g}", "start", "small")
    return scene
