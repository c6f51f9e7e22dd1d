"""The encoding of a text is told by what it spells; the encodings are Python's own."""

from __future__ import annotations

import pytest

from registry.text_encoding import encoding_of

TEXTS = {
    "cp1251": ["Время;Напряжение, В;Ток, А\n", "Литий-ионная батарея 48 В, максимальный ток 30 А"],
    "cp1250": ["Czas [s];Napięcie [V];Prąd [A]\n", "Čas;Napětí (V);Proud (A)\n", "Idő;Feszültség (V);Áram (A)\n"],
    "cp1252": [
        "Temps;Tension;Courant;Température (°C)\n", "Akku für Lastenrad, größere Reichweite", "30 °C", "Tid;Spänning\n"
    ],
    "cp1254": ["Zaman;Gerilim (V);Akım (A);Sıcaklık\n"],
    "gb18030": ["时间(s),电压(V),电流(A)\n", "滑板车锂电池48V20Ah大容量"],
    "cp949": ["시간(초),전압(V),전류(A)\n"],
    "cp932": ["経過時間,電圧[V],電流[A]\n"],
    "koi8-r": ["Время;Напряжение;Ток\n"],
}  # fmt: skip
EACH = [(encoding, text) for encoding, texts in TEXTS.items() for text in texts]


@pytest.mark.parametrize(("encoding", "text"), EACH)
def test_a_text_is_read_in_the_encoding_in_which_its_words_are_words(encoding: str, text: str) -> None:
    """A Russian log is read as "Âðåìÿ", and its columns are guessed by their values alone. (Rule.)"""
    data = text.encode(encoding)
    found = encoding_of(data)
    assert found is not None
    assert data.decode(found) == text
    assert encoding_of(text.encode()) in ("utf-8",)


def test_a_text_cut_inside_a_letter_is_still_utf_8() -> None:
    """The first part of a long log ends inside a letter, and all of it is read as Latin. (Rule.)"""
    data = "Zeit;Spannung;°C\n1;2;3\nGröße".encode()
    assert {encoding_of(data[:end]) for end in range(17, len(data) + 1)} == {"utf-8"}


def test_words_of_the_reader_tell_what_the_module_does_not_know() -> None:
    """Headings that only the log reader knows are spelled in another alphabet. (Rule.)"""
    data = "żółw;żółw\n".encode("cp1250")
    assert encoding_of(data) != "cp1250"
    assert encoding_of(data, ("żółw",)) == "cp1250"


@pytest.mark.parametrize("data", [bytes(range(256)), b"\x00\x01\x02\x03" * 10, b"ab\x00c"])
def test_what_is_no_text_has_no_encoding(data: bytes) -> None:
    """Noise is searched for figures. (Rule.)"""
    assert encoding_of(data) is None


@pytest.mark.parametrize(
    ("encoding", "unit"),
    [("cp1251", "{:.2f} В; {:.2f} А; 17,0 °C"), ("cp1250", "{:.2f} V; {:.2f} A; 17,0 °C")],
)
def test_a_unit_behind_every_number_does_not_outweigh_the_headings(encoding: str, unit: str) -> None:
    """Thousands of rows with a letter behind each number make "Âðåìÿ" of the headings above them. (Rule.)"""
    heading = {"cp1251": "Время; Напряжение; Ток; Температура", "cp1250": "Čas; Napětí; Proud; Teplota"}[
        encoding
    ]
    rows = [unit.format(54.6 - n / 400, 3.8 + n % 7 / 100) for n in range(3000)]
    data = "\r\n".join([heading, *rows]).encode(encoding)
    assert encoding_of(data) == encoding
