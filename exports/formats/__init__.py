"""One file format each."""
