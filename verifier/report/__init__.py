"""The report as an object, and one module for each way of writing it. No renderer computes anything."""
