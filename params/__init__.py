"""Demo parameter files, shipped as package data. Every site and size in them is invented."""
