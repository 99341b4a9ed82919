"""A drawing as data: items, dimensions, symbols, tables, layers, style, and where lettering may go."""
