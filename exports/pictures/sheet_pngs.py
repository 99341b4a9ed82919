"""Pictures of the sheets, rendered from the PDF that is handed in."""

from __future__ import annotations

import re
from os import PathLike
from pathlib import Path

from ...shared.errors import MissingLibrary


def write_pngs(
    pdf: str | PathLike, folder: str | PathLike, dpi: float = 100, names: list[str] | None = None
) -> list[Path]:
    """Render every page of `pdf` to `folder/NN-name.png` and return the paths. `names` default to the bookmarks.

    Grey scale, without a time stamp, so that the same PDF gives the same bytes. Raises MissingLibrary without
    pypdfium2.
    """
    try:
        import pypdfium2
    except ImportError as error:  # pragma: no cover - present wherever the tests run
        raise MissingLibrary(
            "pictures of the sheets need the Python package pypdfium2: pip install pypdfium2"
        ) from error
    out = Path(folder)
    out.mkdir(parents=True, exist_ok=True)
    document = pypdfium2.PdfDocument(str(pdf))
    try:
        if names is None:
            names = [mark.get_title() for mark in document.get_toc() if not mark.level]  # views stand under sheets
        paths = []
        for number, page in enumerate(document):
            name = names[number] if number < len(names) else "sheet"
            path = out / f"{number + 1:02d}-{re.sub(r'[^a-z0-9]+', '-', name.lower()).strip('-')}.png"
            page.render(scale=dpi / 72, grayscale=True).to_pil().save(path)
            paths.append(path)
        return paths
    finally:
        document.close()
