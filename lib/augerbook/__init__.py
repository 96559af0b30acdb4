"""An executable design handbook for small print heads fed with plastic granules.

Notebooks call ``augerbook.book`` and the rooms in ``augerbook.chapters``; all rooms, and which may use which, stand in
the map at the beginning of DEVELOPERS.md.
"""

from augerbook.packages import check_packages

__version__ = "0.1.0"

check_packages()
