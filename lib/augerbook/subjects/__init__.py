"""One module a chapter. A module that declares ``SUBJECT`` is found here; nothing needs to be listed."""

from __future__ import annotations

import importlib
import pkgutil
from functools import cache

from augerbook.core.network import Network
from augerbook.core.subject import Subject


@cache
def all_subjects() -> tuple[Subject, ...]:
    """Return the subjects of all chapters, in the order of the chapters."""
    found = []
    for info in pkgutil.iter_modules(__path__):
        subject = getattr(importlib.import_module(f"{__name__}.{info.name}"), "SUBJECT", None)
        if isinstance(subject, Subject):
            found.append(subject)
    return tuple(sorted(found, key=lambda s: s.number))


@cache
def head() -> Network:
    """Return the network of the whole print head."""
    return Network(all_subjects())
