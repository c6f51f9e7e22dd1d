"""The bytes of a text sheet are read in the encoding they are written in; the encodings are Python's own."""

from __future__ import annotations

import pytest

from registry.errors import UnreadableFile
from registry.sheet_reader.files.text import decoded, rows_of_csv

GERMAN = "Entladeschlußspannung: 2,5 V; Temperatur: -20 °C … 60 °C; Gewicht ≤ 48 g"
RUSSIAN = "Номинальное напряжение: 3,6 В\nМаксимальный ток разряда: 7,8 А\nМасса: 48 г"
POLISH = "Napięcie znamionowe: 3,6 V\nMaksymalny prąd rozładowania: 7,8 A\nPojemność: 2,6 Ah"
CHINESE = "标称容量: 2600mAh\n额定电压: 3.6V\n最大放电电流: 7.8A\n充电温度: 0~45℃\n内阻: 48mΩ\n电池重量: 47g"


@pytest.mark.parametrize(
    ("text", "encoding"),
    [
        (GERMAN, "utf-8"), (RUSSIAN, "cp1251"), (RUSSIAN, "koi8-r"), (POLISH, "cp1250"),
        (GERMAN, "utf-8-sig"), (GERMAN, "utf-16"),
        (GERMAN.replace("≤", "<"), "cp1252"), (CHINESE, "utf-8"), (CHINESE, "gb18030"), (CHINESE, "utf-16"),
    ],
)  # fmt: skip
def test_a_text_is_read_as_it_was_written(text: str, encoding: str) -> None:
    """A limit below zero would lose its sign, or a label would be read as letters that mean nothing."""
    assert decoded(text.encode(encoding), "sheet.txt") == text


def test_bytes_that_are_no_text_are_refused() -> None:
    """Noise would be searched for figures, and some would be found."""
    with pytest.raises(UnreadableFile, match="not a text"):
        decoded(b"\xff\xfe" + b"\x00\xd8" * 40, "sheet.txt")


def test_a_csv_that_the_reader_refuses_is_read_line_by_line() -> None:
    """One field of a hundred thousand letters would end in a traceback. Limit: csv.field_size_limit."""
    body = "\n".join(f"mass,{'x' * 3000}" for _ in range(50))
    rows = rows_of_csv(f'item,value\ncapacity,2600 mAh\n"{body}').rows
    assert [cell.text for row in rows for cell in row.cells][:2] == ["item,value", "capacity,2600 mAh"]
