"""Published rules against measured geometry."""
