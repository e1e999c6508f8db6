"""Widgets that only show what they are given and post messages."""
