"""First floor: parameters, layout, the pieces of a deck, measuring and rules. Imports `shared` alone."""
