"""Listings on their way to a case: what a seller's text claims, in the seller's own words."""
