"""Write every schema into ``schemas/``: python tests/tools/write_schemas.py."""

from __future__ import annotations

import sys
from pathlib import Path

ROOT = Path(__file__).parents[2]


def main() -> None:
    """Write the schemas of this checkout, whichever is installed."""
    sys.path.insert(0, str(ROOT))
    from verifier.schemas import SCHEMAS, schema_text

    for name in SCHEMAS:
        (ROOT / "schemas" / f"{name}.schema.json").write_text(schema_text(name), encoding="utf-8")


if __name__ == "__main__":
    main()
