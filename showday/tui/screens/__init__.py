"""One screen a file; each is the one coordinator of its widgets."""
