"""Pictures without a screen."""
