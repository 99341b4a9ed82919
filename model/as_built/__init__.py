"""A deck as it stands: the outline fitted to what was taped, and the design built to it."""
