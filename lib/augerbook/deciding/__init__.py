"""Which build to try next: candidates, draws of what is uncertain, and what holds in how many of them."""
