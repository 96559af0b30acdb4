"""Scenes to scale, live graphs, stills and their one style sheet: knows no build."""
