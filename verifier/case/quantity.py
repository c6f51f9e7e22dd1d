"""Reading a number, a number with its unit, or ``[low, high]``, from a case into bounds."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from pydantic import GetCoreSchemaHandler, GetJsonSchemaHandler
from pydantic_core import PydanticCustomError, core_schema

from registry.printed import UnreadableQuantity, read_quantity
from verifier.bounds import Bounds

_LONGEST_TEXT = 60
# A lower bound that only keeps zero out.
_HARDLY_ANY = 1e-3


@dataclass(frozen=True, slots=True)
class Quantity:
    """Marks a field of a case as bounds.

    Attributes
    ----------
    low, high : float
        Between which the ends lie.
    unit : str or None
        In which a bare number stands, and into which "14Ah" or "10900 mAh" is converted.
    whole : bool
        Whether only whole numbers are right.
    """

    low: float
    high: float
    unit: str | None = None
    whole: bool = False

    def __get_pydantic_core_schema__(
        self, source: Any, handler: GetCoreSchemaHandler
    ) -> core_schema.CoreSchema:
        """Read a number or a pair; write the same form back."""
        return core_schema.no_info_plain_validator_function(
            self.read, serialization=core_schema.plain_serializer_function_ser_schema(written)
        )

    def __get_pydantic_json_schema__(
        self, schema: core_schema.CoreSchema, handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        """Describe a number, a text with a unit, or a pair of them."""
        number = {"type": "integer" if self.whole else "number", "minimum": self.low, "maximum": self.high}
        text = {"type": "string", "minLength": 1, "maxLength": _LONGEST_TEXT}
        end = {"anyOf": [number, text]}
        return {"anyOf": [number, text, {"type": "array", "items": end, "minItems": 2, "maxItems": 2}]}

    def read(self, value: Any) -> Bounds:
        """Return the bounds that a number, a text or a pair gives."""
        if isinstance(value, Bounds):
            return value
        if isinstance(value, (list, tuple)):
            if len(value) != 2:
                raise PydanticCustomError("pair", "a range is [low, high], two numbers")
            low, high = (self._single(end) for end in value)
        else:
            low, high = self._ends(value)
        if low > high:
            raise PydanticCustomError(
                "pair", "a range goes from low to high; the first end is above the second"
            )
        return Bounds(low, high, low if low == high else None)

    def _single(self, value: Any) -> float:
        low, high = self._ends(value)
        if low != high:
            raise PydanticCustomError("pair", "an end of a range is one number")
        return low

    def _ends(self, value: Any) -> tuple[float, float]:
        if not isinstance(value, str):
            number = self._number(value)
            return number, number
        try:
            low, high = read_quantity(value[: _LONGEST_TEXT + 1], self.unit, counts=self.whole)
        except UnreadableQuantity as error:
            raise PydanticCustomError("rule", "{problem}", {"problem": str(error)}) from error
        return self._number(low), self._number(high)

    def _number(self, value: Any) -> float:
        if isinstance(value, bool) or not isinstance(value, (int, float)):
            raise PydanticCustomError("number", "must be a number or low-high")
        try:
            number = float(value)
        except OverflowError:
            number = float("inf")
        if not self.low <= number <= self.high:
            low = "above 0, up" if 0 < self.low < _HARDLY_ANY else f"from {self.low:.15g}"
            raise PydanticCustomError(
                "range", "must be {low} to {high}", {"low": low, "high": f"{self.high:.15g}"}
            )
        if self.whole and number != int(number):
            raise PydanticCustomError("whole", "must be a whole number")
        return number


def written(bounds: Bounds) -> float | list[float]:
    """Return bounds as a case file writes them: a number, or a pair."""
    return bounds.low if bounds.exact else [bounds.low, bounds.high]
