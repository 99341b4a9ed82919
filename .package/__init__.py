"""A residential timber deck from one parameter file: `load` a file, `build` the deck, ask it for its assembly, checks,
quantities.

Not a substitute for the local code, an engineer or the authority having jurisdiction.
"""

from __future__ import annotations

from importlib.metadata import version
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from .exports.door import Deck, build, load

__all__ = ["Deck", "__version__", "build", "load"]
__version__ = version("plumbcut")


def __getattr__(name: str) -> Any:
    # looked up when asked for, so that the command line answers `--help` without numpy and the schema
    if name in ("Deck", "build", "load"):
        from .exports import door

        return getattr(door, name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
