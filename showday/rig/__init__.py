"""The rig: what the act carries, read from one YAML file."""
