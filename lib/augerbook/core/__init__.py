"""Quantities, relations and the network that joins them. Knows nothing of screws."""
