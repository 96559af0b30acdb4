"""Pictures, plots, sliders, the start page, and what chapters call."""

import os

# Read by ipywidgets when it is imported. Without it the kernel answers every move of a slider with a copy of the move
# before it draws anything: a third of the time to the picture. The copies serve only several browsers on one kernel.
os.environ.setdefault("JUPYTER_WIDGETS_ECHO", "0")
