"""Judging many packs at once with the code that judges one."""
