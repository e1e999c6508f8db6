"""Shared by the tests: small worlds to run in, and detectors that are tested themselves."""
