"""The plan turned into parts: frame, support, surface, trim, stairs and guards."""
