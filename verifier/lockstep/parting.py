"""Where packs that are judged together have to part."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray


class Parting(Exception):
    """The packs go different ways from here: `ways` tells for each pack which.

    Not an error: whoever runs packs together lets each part run by itself.
    """

    def __init__(self, ways: NDArray[Any]) -> None:
        super().__init__("the packs part here")
        self.ways = ways


class Truth:
    """A yes or no for every lane; as one truth value it parts the packs where they differ."""

    __slots__ = ("values",)
    __hash__ = None  # type: ignore[assignment]

    def __init__(self, values: NDArray[np.bool_]) -> None:
        self.values = values

    def __bool__(self) -> bool:
        first = bool(self.values[0])
        if bool((self.values == first).all()):
            return first
        raise Parting(self.values)
