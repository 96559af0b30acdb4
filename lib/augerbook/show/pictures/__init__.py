"""One module a subject: its drawings, as ``PICTURES``."""
