"""The log: a durable, append-only record of everything a person entered."""
