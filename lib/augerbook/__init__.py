"""An executable design handbook for small print heads fed with plastic granules.

The rooms, each of which may use only those before it: ``core`` (quantities, relations, the network), ``draw``
(scenes, graphs, stills), ``head`` (its parts and their inputs), ``chapters`` (one room each), ``builds`` (a maker's
build), ``page`` (panels, the start page), and ``book`` (what notebooks call).
"""

from augerbook.packages import check_packages

__version__ = "0.1.0"

check_packages()
