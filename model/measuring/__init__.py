"""Reads solids, and is the only source of numbers for what follows: lengths, contacts, overlaps, bearing, carriers."""
