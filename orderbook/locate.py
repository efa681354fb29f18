"""Finds the data folders that are shipped beside the package: the demo's lists and the workbook template."""

from __future__ import annotations

from pathlib import Path


def data_folder(name: str) -> Path:
    """Return the folder `name` ("demo_catalog" or "workbook_template") of this installation.

    A wheel carries it inside the package as `_name`; a checkout or an editable install has it beside the package.
    Raises: FileNotFoundError if the installation lacks it.

    >>> data_folder("demo_catalog").is_dir()
    True
    """
    package = Path(__file__).resolve().parent
    for folder in (package / f"_{name}", package.parent / name):
        if folder.is_dir():
            return folder
    raise FileNotFoundError(f"this installation of orderbook lacks its data folder {name!r}; install it again")
