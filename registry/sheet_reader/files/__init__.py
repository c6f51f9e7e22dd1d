"""How each kind of file becomes one grid of cells."""
