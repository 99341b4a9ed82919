"""Sawn lumber and straight beams by themselves: design values, statics, load combinations, spans. Knows no deck."""
