"""Which inputs a builder decides: each exists, and none is a property of what was bought."""

from augerbook.builds.turned import DECIDED
from augerbook.chapters import whole_head
from augerbook.core.quantity import Quantity
from augerbook.deciding.changes import SET, SOLD, STEPS

NETWORK = whole_head()
#: Tables whose columns are sizes that a builder cuts or buys; the others hold properties.
SIZES = {"screws", "sieves"}
#: What has a slider on the start page and is found all the same: weighed, measured, computed from the rest of the head.
FOUND = {"loose_density", "tapped_density", "running_torque", "stall_torque", "slide_stiffness", "tilt_stiffness"}


def test_what_is_decided_is_an_input_of_that_part() -> None:
    for part, keys in DECIDED.items():
        assert len(set(keys)) == len(keys)
        for key in keys:
            quantity = NETWORK.declared[key]
            assert isinstance(quantity, Quantity) and quantity.part == part, key


def test_no_property_of_a_material_or_of_a_part_as_sold_is_decided() -> None:
    decided = {NETWORK.declared[key] for keys in DECIDED.values() for key in keys}
    constants = {q for lookup in NETWORK.lookups.values() if lookup.table not in SIZES for q in lookup.fills}
    # A table recommends the temperature to dry at; a maker sets it.
    assert {q.key for q in decided & constants} == {"drying_temperature"}
    assert "plastic" not in DECIDED


def test_what_is_sold_cut_or_set_is_decided() -> None:
    for quantity in (*SOLD, *STEPS, *SET):
        assert quantity.key in DECIDED[quantity.part]


def test_what_is_changed_first_is_decided_or_known_to_be_found() -> None:
    """An input that the page shows first and that nobody put on either list would never be told as a next step."""
    sliders = {q.key for q in NETWORK.inputs if q.primary}
    lists = {key for keys in DECIDED.values() for key in keys} | FOUND
    assert sliders - lists == set(), "add them to DECIDED in builds/turned.py if a builder decides them, else to FOUND"
    assert sliders >= FOUND and FOUND.isdisjoint({key for keys in DECIDED.values() for key in keys})
