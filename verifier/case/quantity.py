"""Reading a number, or ``[low, high]``, from a case into bounds."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from pydantic import GetCoreSchemaHandler, GetJsonSchemaHandler
from pydantic_core import PydanticCustomError, core_schema

from verifier.bounds import Bounds


@dataclass(frozen=True, slots=True)
class Quantity:
    """Marks a field of a case as bounds whose ends lie from `low` to `high`, whole numbers if `whole`."""

    low: float
    high: float
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
        """Describe a number or a pair of numbers."""
        number = {"type": "integer" if self.whole else "number", "minimum": self.low, "maximum": self.high}
        return {"anyOf": [number, {"type": "array", "items": number, "minItems": 2, "maxItems": 2}]}

    def read(self, value: Any) -> Bounds:
        """Return the bounds that a number or a pair gives."""
        if isinstance(value, Bounds):
            return value
        if isinstance(value, (list, tuple)):
            if len(value) != 2:
                raise PydanticCustomError("pair", "a range is [low, high], two numbers")
            low, high = (self._number(end) for end in value)
            if low > high:
                raise PydanticCustomError("pair", "a range is [low, high]; the first end is above the second")
            return Bounds(low, high)
        number = self._number(value)
        return Bounds(number, number, number)

    def _number(self, value: Any) -> float:
        if isinstance(value, bool) or not isinstance(value, (int, float)):
            hint = ""
            if isinstance(value, str) and "," in value:
                hint = "; write a decimal point, not a comma"
            elif isinstance(value, str) and any(letter.isdigit() for letter in value):
                hint = "; leave the unit out, it is in the field's name"
            raise PydanticCustomError("number", "must be a number or [low, high]{hint}", {"hint": hint})
        try:
            number = float(value)
        except OverflowError:
            number = float("inf")
        if not self.low <= number <= self.high:
            raise PydanticCustomError(
                "range", "must be from {low} to {high}", {"low": f"{self.low:g}", "high": f"{self.high:g}"}
            )
        if self.whole and number != int(number):
            raise PydanticCustomError("whole", "must be a whole number")
        return number


def written(bounds: Bounds) -> float | list[float]:
    """Return bounds as a case file writes them: a number, or a pair."""
    return bounds.low if bounds.exact else [bounds.low, bounds.high]
