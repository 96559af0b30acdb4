"""An executable design handbook for small print heads fed with plastic granules.

The parts, each of which may use only those before it: ``core`` (quantities, relations, the network),
``subjects`` (one module a chapter), ``tables`` and ``build`` (data and a maker's build), ``show``
(drawings, plots, panels).
"""

from augerbook.packages import check_packages

__version__ = "0.1.0"

check_packages()
