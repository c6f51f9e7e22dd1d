"""Numbers for values: each different one is looked at once, when it is first met."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray


class Numbered(dict[Any, int]):
    """The numbers of values, each of which is given its number by a function when it is first asked for."""

    def __init__(self, number_of: Callable[[Any], int]) -> None:
        super().__init__()
        self._number_of = number_of

    def __missing__(self, value: Any) -> int:
        number = self[value] = self._number_of(value)
        return number

    def of(self, values: Sequence[Any], kind: type[np.signedinteger[Any]]) -> NDArray[Any]:
        """Return the number of each value."""
        import numpy as np

        return np.fromiter(map(self.__getitem__, values), kind, len(values))
