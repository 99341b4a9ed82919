"""Decks side by side: two files, or one file with values that vary."""
