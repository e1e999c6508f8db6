"""A run: frozen events, the table of what is allowed, and the state they fold into."""
