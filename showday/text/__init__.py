"""Text in and out: strict YAML with positions, problems, safe text, sentences with fields."""
