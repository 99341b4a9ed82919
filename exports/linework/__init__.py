"""Linework from solids: cut, seen and hidden edges, and what of each face the eye sees."""
