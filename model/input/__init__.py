"""What the builder gives: the parameter file's schema, the words and lines of its faults, the starter file, what
stands."""
