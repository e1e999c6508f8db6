"""Listening to a line check: levels, what arrived where, and faults that can be heard."""
