"""A set that is submitted again: the drawings of a deck with clouds round what is not as in the issued set, the list of
changes and the answers to the checker's comments.

The issued deck is built from its own file, as it was then, in the workshop of this one (pieces cut alike are one
shape), and drawn on this set's paper. What the pieces tell comes from `compare.match`, what the sheets show from
`drawn_changes`.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from pathlib import Path

from ...model.deck import Deck
from ...model.design.advised import checked_with_mends
from ...model.design.designed import designed
from ...model.input.parameters import Parameters
from ...model.measuring.measure import Measured, measure_all
from ...model.parameter_file import locate
from ...model.solid.part import Workshop
from ...model.solid.roles import ROLES
from ...shared.errors import DesignError
from ...shared.papers import papers
from ..drafting.clouds import clouds
from ..drafting.drawing import DrawingSet
from ..drafting.style import dimension_text
from ..drafting.wording import stock_text
from ..named_files import IssuedSet, price_list
from ..sheets import build_drawing
from ..sheets.revision_sheet import REVISION_SHEET, RevisedSheets, fill_revisions, on_paper, strip_table
from ..sheets.stage import Stage
from .compare import Pair, match
from .drawn_changes import SheetChange, lettering_on, sheet_changes

MOST_OF_A_SHEET = 20  # changes that are listed of one sheet; how many more there are is said; our own
_FIRST_ISSUE = "ISSUED"
_SIZES = (lambda m: m.length, lambda m: m.box[1, 0] - m.box[0, 0])


def revised(
    deck: Deck,
    measured: Sequence[Measured],
    checks: Iterable,
    issued: Sequence[IssuedSet],
    shop: Workshop,
    source: Path | None = None,
) -> DrawingSet:
    """The drawing set of `deck` as a revision of the first of `issued` (the others are earlier still). `shop` is the
    workshop in which the deck was made.

    Raises InputError where the issued file cannot be built, or where a comment is on a sheet that is not in the set.
    """
    p, checks = deck.parameters, list(checks)
    earlier, its_measured, its_checks = _as_issued(issued[0], p, shop)
    pairs = [pair for pair in match(its_measured, measured) if pair.what != "same"]
    before = build_drawing(earlier, its_measured, its_checks)
    pages = 1
    while True:
        kept = [f"G-{n:03d}" for n in range(2, 2 + pages)]
        after = build_drawing(deck, measured, checks, kept=kept)
        _known_sheets(p, after, source)
        found, gone = sheet_changes(before, after, kept)
        told = _told(p, issued, found, gone, pairs, after.metric)
        stage = Stage(deck, measured, checks, p.drawing.paper, after.metric, after)
        needed = fill_revisions(stage, [s for s in after.sheets if s.name == REVISION_SHEET], told)
        if needed == pages:
            _mark(after, found, told, issued[0].parameters)
            return after
        pages = needed


def _as_issued(issued: IssuedSet, now: Parameters, shop: Workshop) -> tuple[Deck, list[Measured], list]:
    """The issued deck, measured and checked, with this set's letter, date and paper and the temperature of its day of
    laying: they are no change."""
    then = issued.parameters
    project = then.project.model_copy(update={"revision": now.project.revision, "date": now.project.date})
    gaps = then.gaps.model_copy(update={"temperature_f": now.gaps.temperature_f})
    parameters = then.model_copy(update={"project": project, "drawing": now.drawing, "gaps": gaps})
    try:
        made = designed(parameters, shop=shop, prices=price_list(then, issued.path))
    except DesignError as e:
        raise locate(issued.path, e) from None
    measured = measure_all(made.deck.parts)
    return made.deck, measured, checked_with_mends(made.deck, measured, made.structure)


def _known_sheets(p: Parameters, drawing: DrawingSet, source: Path | None) -> None:
    known = [sheet.number for sheet in drawing.sheets]
    for n, comment in enumerate(p.revision.comment):
        if comment.sheet and comment.sheet not in known:
            told = f"{comment.sheet} is no sheet of this set; it has {', '.join(known)}"
            error = DesignError(f"revision.comment.{n}.sheet", told)
            raise locate(source, error) if source else error


def _told(
    p: Parameters,
    issued: Sequence[IssuedSet],
    found: list[SheetChange],
    gone: list[str],
    pairs: list[Pair],
    metric: bool,
) -> RevisedSheets:
    sets = [
        (s.parameters.project.revision, s.parameters.project.date, on_paper(s.parameters.revision.text) or _FIRST_ISSUE)
        for s in reversed(issued)
    ]
    sets.append((p.project.revision, p.project.date, on_paper(p.revision.text)))
    changes = []
    for n, change in enumerate(found):
        words = [*_pieces(change, pairs, metric), *dict.fromkeys(change.words), *(gone if n == 0 else [])]
        if len(words) > MOST_OF_A_SHEET:
            words = [*words[: MOST_OF_A_SHEET - 1], f"AND {len(words) - MOST_OF_A_SHEET + 1} MORE, CLOUDED"]
        if words:
            changes.append((change.sheet.number, words))
    return RevisedSheets(sets, changes, p.revision.comment)


def _pieces(change: SheetChange, pairs: list[Pair], metric: bool) -> list[str]:
    """The pieces whose lines or names changed on a sheet, in heaps of those that changed alike."""
    heaps: dict[tuple[str, str], list[Pair]] = {}
    for pair in pairs:
        if (pair.b and {pair.b.id, pair.b.mark} & change.now) or (pair.a and {pair.a.id, pair.a.mark} & change.before):
            heaps.setdefault((pair.role, _what(pair, metric)), []).append(pair)
    rank = {role: k for k, role in enumerate(ROLES)}
    rows = sorted(heaps.items(), key=lambda row: (rank[row[0][0]], row[0][1]))
    return [
        f"{role.upper()}: {what}{_how(heap, what, metric)}" + (f" ({len(heap)} PIECES)" if len(heap) > 1 else "")
        for (role, what), heap in rows
    ]


def _what(pair: Pair, metric: bool) -> str:
    if pair.what == "other stock":
        return f"{stock_text(pair.a.stock, metric)} NOW {stock_text(pair.b.stock, metric)}"
    return pair.what.upper()


def _how(heap: list[Pair], what: str, metric: bool) -> str:
    """How far pieces moved, and what was cut differently: its length where that is another, of a round its width."""
    if what == "MOVED":
        far = max(pair.moved for pair in heap)
        alike = all(_length(pair.moved, metric) == _length(far, metric) for pair in heap)
        return f"{'' if alike else ' UP TO'} {_length(far, metric)}"
    if what == "CUT DIFFERENTLY":
        sizes = {
            (dimension_text(size(p.a), metric), dimension_text(size(p.b), metric)) for p in heap for size in _SIZES
        }
        changed = [pair for pair in sizes if pair[0] != pair[1]]
        return f", {changed[0][0]} NOW {changed[0][1]}" if len(changed) == 1 else ""
    return ""


def _length(value: float, metric: bool) -> str:
    return dimension_text(value, metric) + (" MM" if metric else "")


def _mark(drawing: DrawingSet, found: list[SheetChange], told: RevisedSheets, then: Parameters) -> None:
    """Clouds and triangles, the revision table where the title block has room for one, and on sheets that are as they
    were the letter and date under which they were issued."""
    for change in found:
        sheet = change.sheet
        if papers()[sheet.paper].at_side:
            strip_table(sheet, told)
        new = change.any or sheet.number == "G-001" or sheet.name == REVISION_SHEET
        if not new:
            sheet.fields = {**sheet.fields, "revision": then.project.revision, "date": then.project.date}
        if change.boxes or change.rows:
            texts, beside = lettering_on(sheet, drawing.metric)
            sheet.add(*clouds(change.boxes, change.rows, told.letter, sheet.room, texts, beside))
