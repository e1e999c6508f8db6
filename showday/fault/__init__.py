"""Fault trees: model, reader, and the order in which they are walked."""
