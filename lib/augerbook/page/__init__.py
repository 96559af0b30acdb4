"""Pictures, plots, sliders, the start page, and what chapters call."""
