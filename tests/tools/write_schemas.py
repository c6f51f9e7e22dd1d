"""Write every schema into ``schemas/``: python tests/tools/write_schemas.py."""

from __future__ import annotations

from pathlib import Path

from verifier.schemas import SCHEMAS, schema_text


def main() -> None:
    """Write the schemas of this checkout."""
    folder = Path(__file__).parents[2] / "schemas"
    for name in SCHEMAS:
        (folder / f"{name}.schema.json").write_text(schema_text(name), encoding="utf-8")


if __name__ == "__main__":
    main()
