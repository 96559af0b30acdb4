"""Bars in a scene that are parted into what they are made of, and the key to their parts."""

from __future__ import annotations

from collections.abc import Sequence

from augerbook.draw.scene import Scene


def parted_bar(
    scene: Scene,
    corner: tuple[float, float],
    long: float,
    high: float,
    parts: Sequence[tuple[float, str]],
    whole: float | None = None,
) -> list[tuple[float, float]]:
    """Draw a bar, each part as long as its share of ``whole``; return where each part begins, and its length.

    ``parts`` are amounts and styles; ``long`` is the length of ``whole``, which is their sum unless told. All lengths
    in the scene's unit.
    """
    at, y = corner
    whole = sum(amount for amount, _ in parts) if whole is None else whole
    placed = []
    for amount, style in parts:
        part = long * amount / whole
        scene.rectangle((at, y), part, high, style)
        placed.append((at, part))
        at += part
    return placed


def key_to_parts(scene: Scene, corner: tuple[float, float], apart: float, parts: Sequence[tuple[str, str]]) -> None:
    """Draw what each style stands for, one beside the other; ``parts`` are words and styles.

    All lengths in the scene's unit, which is the picture's.
    """
    for place, (words, style) in enumerate(parts):
        x, y = corner[0] + apart * place, corner[1]
        scene.rectangle((x, y), 22, 16, style)
        scene.label((x + 30, y + 8), words, anchor="start", style="small")
