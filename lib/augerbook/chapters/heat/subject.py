"""The subject that the relations of this room belong to."""

from __future__ import annotations

from augerbook.core.subject import Subject

SUBJECT = Subject(
    "heat",
    number=8,
    title="Heat along the head",
    question="How far up the tube does the plastic soften, what does a cooler buy, and does the screw's metal matter?",
)
