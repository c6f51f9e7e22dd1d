"""The physics of the current's way from the cells to the connector; it knows no case, file or report."""
