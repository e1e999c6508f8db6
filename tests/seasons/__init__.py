"""Two invented seasons of the example act, walked through the real engine: what `examples/seasons` holds.

    python -m tests.seasons [FILE]

Without a file `examples/seasons/ferrymoth.bundle.jsonl` is written anew. The same program and the same playbooks write
the same file on every machine.
"""
