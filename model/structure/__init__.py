"""The load path of a deck from board to soil, and its members with table and calculation side by side."""
