"""What a PDF is to a reader that does not see it: sheets with their titles as headings, lettering as paragraphs.

Tagged content as ISO 32000-1, 14.7 and 14.8, has it: every piece of lettering is marked in the page's content and known
to the tree of the document's structure; what is drawn is an artifact, so that nothing is read of it. Links are not in
the tree.
"""

from __future__ import annotations

from reportlab.pdfbase import pdfdoc
from reportlab.pdfgen.canvas import Canvas

SHEET_TITLE, VIEW_TITLES, LETTERING = "H1", "H2", "P"
ARTIFACT = "/Artifact BMC"


class TaggedText:
    """The marked content of all pages, in order."""

    def __init__(self) -> None:
        self.pages: list[list[str]] = []

    def page(self) -> None:
        """What is marked from now on is on the next page."""
        self.pages.append([])

    def mark(self, tag: str) -> str:
        """The operator that begins the next piece of lettering on this page."""
        self.pages[-1].append(tag)
        return f"/{tag} <</MCID {len(self.pages[-1]) - 1}>> BDC"

    def finish(self, canvas: Canvas, names: list[str]) -> None:
        """The tree of structure over the pages of the canvas, each a section with its name; titles come first in it."""
        document = canvas._doc
        root, whole = pdfdoc.PDFDictionary({"Type": _name("StructTreeRoot")}), _element("Document")
        whole.dict["P"], root.dict["K"] = document.Reference(root), document.Reference(whole)
        sections, numbers = [], []
        for n, (page, tags, name) in enumerate(zip(document.Pages.pages, self.pages, names)):
            section = _element("Sect", P=document.Reference(whole), T=pdfdoc.PDFString(name))
            pieces = [
                document.Reference(_element(tag, P=document.Reference(section), Pg=document.Reference(page), K=k))
                for k, tag in enumerate(tags)
            ]
            order = sorted(range(len(tags)), key=lambda k: (tags[k] == LETTERING, tags[k], k))
            section.dict["K"] = pdfdoc.PDFArray([pieces[k] for k in order])
            sections.append(document.Reference(section))
            numbers += [n, document.Reference(pdfdoc.PDFArray(pieces))]
            page.__NoDefault__ = [*page.__NoDefault__, "StructParents", "Tabs"]  # what reportlab writes of a page
            page.StructParents, page.Tabs = n, _name("S")
        whole.dict["K"] = pdfdoc.PDFArray(sections)
        root.dict["ParentTree"] = pdfdoc.PDFDictionary({"Nums": pdfdoc.PDFArray(numbers)})
        root.dict["ParentTreeNextKey"] = len(self.pages)
        document.Catalog.StructTreeRoot = root
        document.Catalog.MarkInfo = pdfdoc.PDFDictionary({"Marked": "true"})


def _name(text: str) -> pdfdoc.PDFName:
    return pdfdoc.PDFName(text)


def _element(tag: str, **more: object) -> pdfdoc.PDFDictionary:
    return pdfdoc.PDFDictionary({"Type": _name("StructElem"), "S": _name(tag), **more})
