"""Saves three seconds of each start: imported before anything that imports nbformat.

nbformat validates with jsonschema, which at import looks for an optional package that checks internationalised
addresses; that package compiles a grammar each time it is loaded. No notebook holds such an address.
"""

import sys

sys.modules.setdefault("rfc3987_syntax", None)  # type: ignore[arg-type]  # None: as if it were not installed
