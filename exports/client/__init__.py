"""For the client: one page with what is built, of what, at what price; hours of the builder's own table beside it."""
