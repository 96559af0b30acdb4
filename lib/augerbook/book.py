"""What notebooks call, in one place: ``from augerbook import book``."""

from __future__ import annotations

from augerbook.builds.shipped import load_build, read_build, shipped_build, shipped_builds
from augerbook.chapters import whole_head
from augerbook.chapters.pictures import all_pictures, pictures_of
from augerbook.core.network import Solution
from augerbook.core.spread import elasticities, monte_carlo, spread
from augerbook.core.units import number
from augerbook.deciding.deciders import deciders
from augerbook.deciding.ranking import Aim, chances, compared
from augerbook.draw.live_plot import LivePlot, frame, graph
from augerbook.draw.scene import Scene
from augerbook.head.sieve_table import SieveTableError, read_sieve_csv
from augerbook.page.appendix import build_keys, check_summary, data_table, notation_table, reference_list
from augerbook.page.chapter import (
    Markdown,
    assumption_table,
    check_table,
    confirm,
    confirm_value,
    exercise,
    explore,
    margin_table,
    quantities_that_matter,
    quantity_table,
    relation,
    source_list,
)
from augerbook.page.choosing_panel import choose
from augerbook.page.choosing_view import tried
from augerbook.page.cite import find_example, worked
from augerbook.page.network_map import flow_table, network_map
from augerbook.page.start import chapter_list, start_page
from augerbook.page.tables_html import results_markdown
from augerbook.settle import found_at_work, found_elsewhere, settle, settled, with_found
from augerbook.tables import read_table, references

__all__ = [
    "Aim", "LivePlot", "Markdown", "Scene", "SieveTableError", "Solution", "all_pictures", "assumption_table",
    "build_keys", "chances", "chapter_list", "check_summary", "check_table", "choose", "compared", "confirm",
    "confirm_value", "data_table", "deciders", "elasticities", "exercise", "explore", "find_example", "flow_table",
    "found_at_work", "found_elsewhere", "frame", "graph", "load_build", "margin_table", "monte_carlo", "network_map",
    "notation_table", "number", "pictures_of", "quantities_that_matter", "quantity_table", "read_build",
    "read_sieve_csv", "read_table", "reference_list", "references", "relation", "results_markdown", "settle",
    "settled", "shipped_build", "shipped_builds", "source_list", "spread", "start_page", "tried", "whole_head",
    "with_found", "worked",
]  # fmt: skip
