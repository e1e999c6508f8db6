"""Write the two seasons anew."""

from __future__ import annotations

import sys
from pathlib import Path

from tests.seasons.made import SHIPPED, make_seasons

if __name__ == "__main__":
    target = Path(sys.argv[1]) if len(sys.argv) > 1 else SHIPPED
    target.parent.mkdir(parents=True, exist_ok=True)
    lines = list(make_seasons())
    target.write_bytes(b"".join(lines))
    print(f"{target}: {len(lines)} lines, {target.stat().st_size // 1000} kB")
