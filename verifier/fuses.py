"""What is known of any fuse: which are sold, and what of its rating one carries for hours."""

from __future__ import annotations

FUSE_FOR_HOURS = 0.75
"""Of its rating: what a fuse is loaded with for hours. See `verifier.pack.elements.fuse`."""
FEWEST_OF_A_FUSE_A = 5.0
"""No light vehicle runs on less for long: a part that carries less is replaced, not protected; common practice, no
source. [A]"""
FUSES_ON_SALE_A = (5, 7.5, 10, 15, 20, 25, 30, 40, 50, 60, 70, 80, 100, 125, 150, 200)
"""Of blade and bolted fuses, those that are on sale nearly everywhere; common practice, from memory. [A]"""
