"""The pictures of the chapters, found by themselves: each room may have a module ``picture`` with ``PICTURES``."""

from __future__ import annotations

import importlib
import importlib.util
from functools import cache

from augerbook.chapters import all_subjects
from augerbook.draw.picture import Picture


@cache
def pictures_of(subject: str) -> tuple[Picture, ...]:
    """Return the pictures of one subject (none when its room has no module of pictures)."""
    name = f"augerbook.chapters.{subject}.picture"
    if importlib.util.find_spec(name) is None:
        return ()
    return tuple(importlib.import_module(name).PICTURES)


@cache
def all_pictures() -> tuple[Picture, ...]:
    """Return the pictures of all subjects in the order of the chapters, those that open the page first."""
    found = [picture for subject in all_subjects() for picture in pictures_of(subject.name)]
    return tuple(sorted(found, key=lambda picture: not picture.opens))
