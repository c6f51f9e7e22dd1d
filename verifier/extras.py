"""What only some uses need is an extra of the installation; where one is not there, one line says how to add it."""

from __future__ import annotations

from importlib import import_module

from verifier.errors import UnreadableInput

# By extra, as `pyproject.toml` has it: what needs it, and the libraries that it brings.
_EXTRAS = {
    "parquet": ("Parquet", ("pyarrow.parquet",)),
    "cluster": ("a Dask cluster", ("dask", "distributed")),
    "ocr": ("recognising letters in pictures", ("rapidocr", "onnxruntime")),
}


def require(extra: str, place: str) -> None:
    """Refuse a use whose extra is not installed, before any work is done for it.

    Parameters
    ----------
    extra : str
        Its name, one of those in ``pyproject.toml``.
    place : str
        The file or option that needs it.

    Raises
    ------
    UnreadableInput
        When a library of the extra cannot be loaded.
    """
    user, libraries = _EXTRAS[extra]
    try:
        for library in libraries:
            import_module(library)
    except ImportError as error:
        raise UnreadableInput(
            place, f"{user} needs an addition that is not installed",
            # These quotes are right in every shell, Windows' own among them.
            f'add it with: pip install "packclaim[{extra}]"',
        ) from error  # fmt: skip
