"""A maker's build: its values, its text, and those that come with the handbook."""
