"""A sieve table as people type it: what can be wrong with it, and how it is read from CSV."""

from __future__ import annotations

import re
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from augerbook.core.csv_lines import TypedTableError, in_order, typed_numbers, typed_rows
from augerbook.core.units import number, to_si, unit_fault

Array = NDArray[np.float64]

#: The shares may miss 100 % by this much for rounding.
_ROUNDING = 0.005
_HEADER = re.compile(r"(?P<name>mesh|share|mass)\s*\[(?P<unit>[^\[\]]+)\]", re.IGNORECASE)
_LAYOUT = "expected a first line 'mesh [mm], share [%]' or 'mesh [mm], mass [g]', then one line for each sieve"


class SieveTableError(TypedTableError):
    """A sieve table that cannot be used."""


def sieve_table_faults(mesh: Array, share: Array) -> list[str]:
    """Return a sentence for each fault of a sieve table, none when it is sound.

    Args:
        mesh: mesh of each sieve in m, from coarse to fine, the pan as 0.
        share: share of the mass that stays on each.
    """
    if not (np.isfinite(mesh).all() and np.isfinite(share).all()):
        return ["every mesh and every share must be a finite number"]
    if len(mesh) < 3:
        return [
            f"{len(mesh)} row(s) say nothing about sizes: give at least three, the mesh that everything has passed, "
            "one or more finer ones, and the pan as 0 mm"
        ]
    faults = [f"row {row}: the mesh {_mm(m)} is below zero" for row, m in enumerate(mesh, 1) if m < 0]
    faults += [f"row {row}: the share {_percent(s)} is below zero" for row, s in enumerate(share, 1) if s < 0]
    for row, (coarse, fine) in enumerate(pairwise(mesh), 2):
        if fine == coarse:
            faults.append(f"row {row}: the mesh {_mm(fine)} stands there twice: add both shares into one row")
        elif fine > coarse:
            faults.append(f"row {row}: the mesh {_mm(fine)} follows {_mm(coarse)}: order the rows from coarse to fine")
    if mesh[-1] > 0:
        faults.append(f"the last row is the pan with the mesh 0 mm, not {_mm(mesh[-1])}: its share may be 0 %")
    if share[0] > 0:
        faults.append(
            f"the first row is the mesh that everything has passed, with a share of 0 %, not {_percent(share[0])}: "
            "put the next coarser mesh above it"
        )
    if abs(share.sum() - 1) > _ROUNDING + 1e-9:  # 99.5 % is within, whatever its last bit
        faults.append(
            f"the shares add up to {_percent(share.sum())} instead of 100 %: give the share of the whole mass that "
            "stays on each mesh (not what passes it), the pan included"
        )
    return faults


def read_sieve_csv(text: str) -> tuple[Array, Array]:
    """Read a sieve table from CSV: one line for each sieve with its mesh, and the share or the mass that stays on it.

    Masses become shares of their sum. The columns may be separated by commas, semicolons or
    tabs, the last two with decimal commas as well. Lines that begin with '#' are notes.

    Returns:
        Mesh in m and share of the mass, as a build takes them.

    Raises:
        SieveTableError: with every fault, each naming its line.
    """
    rows, unread = typed_rows(text)
    if not rows:
        raise SieveTableError(unread or [f"the text is empty: {_LAYOUT}"])
    names, units = _columns(*rows[0])
    values, faults = typed_numbers(rows[1:], names)
    if faults := in_order([*unread, *faults]):
        raise SieveTableError(faults)
    mesh, amount = (
        to_si(column, unit, _EXPECTED_UNITS[name]) for column, unit, name in zip(values.T, units, names, strict=True)
    )
    if names[1] == "mass" and amount.sum() > 0:
        amount = amount / amount.sum()
    found = sieve_table_faults(mesh, amount)
    if found:
        raise SieveTableError(found)
    return mesh, amount


_EXPECTED_UNITS = {"mesh": "mm", "share": "percent", "mass": "g"}


def _columns(line: int, header: list[str]) -> tuple[list[str], list[str]]:
    told = f"line {line}: '{', '.join(header):.60}'"
    matches = [_HEADER.fullmatch(cell.strip()) for cell in header]
    if len(matches) != 2 or None in matches:
        raise SieveTableError([f"{told}: {_LAYOUT}"])
    names = [match["name"].lower() for match in matches if match]
    units = [match["unit"].strip() for match in matches if match]
    if names[0] != "mesh" or names[1] == "mesh":
        raise SieveTableError([f"{told}: {_LAYOUT}"])
    for name, unit in zip(names, units, strict=True):
        if reason := unit_fault(unit, _EXPECTED_UNITS[name]):
            raise SieveTableError([f"line {line}: {name} [{unit:.30}]: {reason}"])
    return names, units


def _mm(metres: float) -> str:
    return f"{number(float(metres) * 1e3)} mm"


def _percent(share: float) -> str:
    return f"{number(float(share) * 100)} %"
