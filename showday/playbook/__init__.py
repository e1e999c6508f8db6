"""Playbooks: model, reader, rules, the shelf of shipped and own files, search."""
