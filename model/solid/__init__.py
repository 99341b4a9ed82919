"""The kernel behind one door, the part, and the faces that the kernel says a solid has."""
