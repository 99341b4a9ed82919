"""Ground floor: units, stock, published tables and errors. Knows no deck and imports nothing of ours."""
