"""A room for each chapter: what it declares, its models, its pictures. What declares ``SUBJECT`` is found here."""

from __future__ import annotations

import importlib
import pkgutil
from functools import cache

from augerbook.core.network import Network
from augerbook.core.subject import Subject
from augerbook.head import all_parts


@cache
def all_subjects() -> tuple[Subject, ...]:
    """Return the subjects of all chapters, in the order of the chapters."""
    rooms = (
        importlib.import_module(f"{__name__}.{info.name}") for info in pkgutil.iter_modules(__path__) if info.ispkg
    )
    return tuple(sorted((room.SUBJECT for room in rooms), key=lambda subject: subject.number))


@cache
def whole_head() -> Network:
    """Return the network of the whole print head."""
    return Network(all_subjects(), all_parts(), home=f"{__name__}:whole_head")
