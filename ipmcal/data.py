"""Where the data folders are. In: a name (``rules``, ``templates``). Out: its path, installed or in a checkout."""

from __future__ import annotations

from pathlib import Path

_HERE = Path(__file__).resolve().parent


def folder(name: str) -> Path:
    """The folder that was packed into the wheel (``ipmcal/_data/NAME``), else the checkout's top-level one.

    Raises FileNotFoundError where there is neither: the installation is then incomplete.
    """
    for path in (_HERE / "_data" / name, _HERE.parent / name):
        if path.is_dir():
            return path
    raise FileNotFoundError(f"the folder '{name}' is missing: it belongs beside ipmcal, or into its _data folder")
