"""The cell datasheet registry: cells, their sheets, and where every figure comes from."""
