"""The page to walk round the model on, and the loopback server that keeps it up to date."""
