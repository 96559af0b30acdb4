"""The parts of the head, in the order a builder meets them. A module that declares ``PART`` is found here."""

from __future__ import annotations

import importlib
import pkgutil
from functools import cache

from augerbook.core.part import Part


@cache
def all_parts() -> tuple[Part, ...]:
    """Return the parts of the head: the sections of a build file."""
    modules = (importlib.import_module(f"{__name__}.{info.name}") for info in pkgutil.iter_modules(__path__))
    found = (getattr(module, "PART", None) for module in modules)
    return tuple(sorted((part for part in found if isinstance(part, Part)), key=lambda part: part.number))


def part_titles() -> dict[str, str]:
    """Return the title of each part under its name."""
    return {part.name: part.title for part in all_parts()}
