"""A case: one pack, as a file says what is claimed, seen and wanted of it."""
