"""A plugin for a run of nbval: one more cell at the end, which moves the sliders, and a file of all that came out.

    pytest --nbval -p tests.handbook.collector --outputs-to=FILE handbook/NN_name.ipynb

nbval executes the notebook and compares; whoever wants to compare more closely reads the file, without executing the
notebook again. It holds a list of outputs for each code cell, as a notebook stores them, or null for one that failed.
"""

import json
from collections import defaultdict
from pathlib import Path

import nbformat
import pytest
from nbval.plugin import IPyNbCell

from tests.handbook.refresh import MOVE_SLIDERS


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--outputs-to", type=Path, required=True, help="file to write the outputs of all cells to")


@pytest.hookimpl(trylast=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    last = items[-1]
    assert isinstance(last, IPyNbCell)
    cell = nbformat.v4.new_code_cell(MOVE_SLIDERS, execution_count=last.cell_num + 2)
    options = defaultdict(bool, check=True)
    items.append(
        IPyNbCell.from_parent(last.parent, name="Sliders", cell_num=last.cell_num + 1, cell=cell, options=options)
    )


def pytest_sessionfinish(session: pytest.Session) -> None:
    cells = [item for item in session.items if isinstance(item, IPyNbCell)][:-1]
    session.config.getoption("--outputs-to").write_text(
        json.dumps([cell.test_outputs for cell in cells]), encoding="utf-8"
    )
