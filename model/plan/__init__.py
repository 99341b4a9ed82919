"""Plane geometry: outline and edges, surface, frame, beams, posts and stairs in plan. No solid is made here."""
