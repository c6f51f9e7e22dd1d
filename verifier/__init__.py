"""Judges a seller's advertised pack figures against cell sheets and the observed build."""
