"""The layers that a reader of a PDF may switch off: the drawing's, by discipline and by what they letter.

Optional content groups as ISO 32000-1, 8.11, has them: named in the catalogue, listed in each page's resources, and
begun and ended in its content.
"""

from __future__ import annotations

from functools import cache

from reportlab.pdfbase import pdfdoc
from reportlab.pdfgen.canvas import Canvas

# what the layers' names begin with, the longest first: what stands in the list of layers
DISCIPLINES = {
    "A-ANNO-TTLB": "Border and title block",
    "A-ANNO-DIMS": "Dimensions",
    "A-ANNO-REV": "Revisions",
    "A-ANNO": "Notes, marks and schedules",
    "S": "Structure",
    "A": "Architecture",
    "C": "Site",
}
_KEYS = {name: f"OC{n}" for n, name in enumerate(DISCIPLINES.values())}
GROUP_END = "EMC"


@cache
def group_of(layer: str) -> str:
    """The group in which a layer's lines and lettering stand."""
    return next(name for start, name in DISCIPLINES.items() if layer.startswith(start))


def begin(group: str) -> str:
    return f"/OC /{_KEYS[group]} BDC"


class ContentGroups:
    """The groups of one document, made known to its catalogue; those with nothing in them are left out."""

    def __init__(self, canvas: Canvas, used: set[str]):
        document = canvas._doc
        self.references = {
            _KEYS[name]: document.Reference(
                pdfdoc.PDFDictionary({"Type": pdfdoc.PDFName("OCG"), "Name": pdfdoc.PDFString(name)})
            )
            for name in DISCIPLINES.values()
            if name in used
        }
        every = pdfdoc.PDFArray(list(self.references.values()))
        shown = pdfdoc.PDFDictionary({"Order": every, "ON": every, "Name": pdfdoc.PDFString("Layers")})
        catalog = document.Catalog
        catalog.__NoDefault__ = [*catalog.__NoDefault__, "OCProperties"]  # what reportlab writes of a catalogue
        catalog.OCProperties = pdfdoc.PDFDictionary({"OCGs": every, "D": shown})

    def on_page(self, page: pdfdoc.PDFPage) -> None:
        """Names the groups in a page's resources, which are otherwise reportlab's own."""
        page.Resources = pdfdoc.PDFResourceDictionary(Properties=dict(self.references))
        page.Resources.basicFonts()
