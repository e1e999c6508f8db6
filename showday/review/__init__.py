"""Reading the log back: what to know about a venue before going there again."""
