"""A frame chosen for what the file leaves out, verified by the checks of its own solids."""
