"""Quantities, cut list, lengths to buy, hardware, and the gaps of the day."""
