"""Spec sheets on their way into the registry: what was read from one, before a person accepts it."""
