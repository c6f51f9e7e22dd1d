"""Judging many listings at once: tables in, one result row a listing out."""
