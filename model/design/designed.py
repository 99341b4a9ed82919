"""The frame of a deck, chosen where the file leaves it out.

Some hundred frames are estimated on the plan (`estimate`): joists of every size sold, on straight beams wherever they
may lie. Those that would be much cheaper than the plan's own frame, with beams along its edges, are built first, then
that one. Where a member of the finished solids is not met, the keys that the file leaves out are tried one value
further, cheapest first by timber and footings, until a frame has no row that is not met. Best first, not a
mixed-integer model: a frame seldom needs more than two or three changes, and every candidate is judged by the very
checks that the builder reads, which no linear model holds.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass, replace

from ...shared.errors import DesignError
from ...shared.prices import Prices
from ...shared.said import Quantity, Words, decimal, number, said
from ..deck import Deck, Progress, build
from ..input.parameters import Parameters
from ..input.surveyed import surveyed
from ..plan.clear_of_posts import posts_in_the_way
from ..plan.layout import lay_out
from ..plan.stages import LevelPlan
from ..rules.check_result import CheckResult
from ..solid.part import Workshop
from ..structure.members import SQFT
from ..structure.structure import MemberResult, Structure, analyse
from ..structure.verdicts import Verdict
from .costs import Costs
from .estimate import BEAM_PLIES, Estimated, estimated
from .gap_of_day import on_the_day
from .joist_ways import PERHAPS, SURELY, OtherWay, other_way
from .landing_keys import landing_key
from .mends import (
    BEAMS,
    FOOTING_SIZE,
    Mend,
    Unmet,
    can_hang,
    faults,
    given_keys,
    key_value,
    with_keys,
)
from .row_mends import nearer_spacings, smaller_footings
from .search import MOST_FINISHED, Candidate, Looked, LookedAt, dug_in, judged, pruned, searched, unseen
from .stair_rims import RIM_PLIES, bent_rims, plies_asked, with_rims

MOST_BUILT = 16  # candidates: beyond, the best of them stands, and the checks say what is not met
MOST_LOOKED_AT = 3  # frames estimated, and built before the plan's own
LARGE_DECK = 1200.0  # square feet of deck from which few frames are looked at: one takes a second and more (our own)
MOST_OTHER_WAY = (
    6  # frames with joists the other way where no key mends what is left with them the likelier way (our own)
)
MOST_OVER = 4.0  # shares of limits, all faults together, past which an estimated frame is given up; our own
BARELY_DEARER = 1.05  # times its first cost that an estimated frame may come to at least, mended; our own
MOST_MENDED = 5  # of a frame that was estimated: the next one estimated is tried then


@dataclass(frozen=True)
class Chosen:
    """A key of the frame table, what was chosen in place of the schema's default, and why."""

    key: str
    value: object
    instead: object
    why: Words

    @property
    def said(self) -> Words:
        landing = landing_key(self.key)
        key = said("frame.{key}", key=self.key) if landing is None else landing.said
        if self.instead is None:
            return said("{key} chosen: {value}: {why}", key=key, value=_value(self.value), why=self.why)
        return said(
            "{key} chosen: {value}, not {instead}: {why}",
            key=key,
            value=_value(self.value),
            instead=_value(self.instead),
            why=self.why,
        )


@dataclass(frozen=True)
class Designed:
    """A deck with the structure that judged it, and what was chosen for it; `built` frames were looked at. `other_way`:
    the cost with joists the other way as a share of its own, and whether that was built, where cost decides the way."""

    deck: Deck
    structure: Structure
    chosen: tuple[Chosen, ...]
    built: int
    other_way: tuple[float, bool] | None = None

    @property
    def faults(self) -> list[tuple[MemberResult, Unmet]]:
        """What no frame that was looked at could mend."""
        return faults(self.structure.results)


def designed(
    parameters: Parameters,
    progress: Progress = lambda stage: None,
    shop: Workshop | None = None,
    layout: LevelPlan | None = None,
    prices: Prices | None = None,
    watch: Looked = unseen,
) -> Designed:
    """The deck of a parameter file, its frame chosen where the file leaves it out, by `prices` where a list has all
    that a frame is made of. Takes what `build` takes and raises DesignError as it does. A frame that stands already, as
    surveyed, is not chosen. `watch` is told of each deck whose members hold, before the rest of it is
    judged: the one that is chosen is nearly always the last."""
    parameters, layout, notes = on_the_day(parameters, layout or lay_out(parameters))
    made = _chosen(parameters, progress, shop or Workshop(), layout, prices, watch)
    made.deck.notes += notes
    return made


def _chosen(
    parameters: Parameters,
    progress: Progress,
    shop: Workshop,
    layout: LevelPlan,
    prices: Prices | None,
    watch: Looked,
) -> Designed:
    """As `designed`, of a file with the gaps of the day."""
    stands = surveyed(parameters)
    if stands and stands.joists:
        deck = build(parameters, progress, shop, layout)
        watch(deck)
        return Designed(deck, analyse(deck), (), 1)
    costs = Costs.of(parameters, prices)
    own = _Choice(parameters, layout, progress, shop, costs, watch)
    turned = other_way(layout, costs)
    if turned is None or (own.large and turned.share > SURELY):
        return own.made()
    other = _Choice(turned.layout.parameters, turned.layout, progress, shop, costs, watch)
    # the likelier way first; where that is met, the second is built only if it may be cheaper all the same
    if turned.share > PERHAPS:
        ways, alone = [own, other], True
    else:
        ways, alone = [other, own], turned.share <= SURELY
    found = [(ways[0], ways[0].made())]
    first_kept = ways[0].kept(found[0][1])
    if first_kept:
        ways[1].below = costs.of_deck(found[0][1].deck)
    elif ways[0].beyond_keys(found[0][1]):
        ways[1].most = MOST_OTHER_WAY
    if not (alone and first_kept):
        found.append((ways[1], ways[1].made()))
    choice, made = min(found, key=lambda f: (not f[0].kept(f[1]), len(f[1].faults), costs.of_deck(f[1].deck)))
    made = _with_turn(made, turned) if choice is other else made
    share = turned.share if choice is own else 1 / turned.share
    costly = [costs.of_deck(d.deck) for c, d in found if c is not choice]
    told = (costly[0] / costs.of_deck(made.deck), True) if costly else (share, False)
    return replace(made, built=own.built + other.built, other_way=told)


def _with_turn(made: Designed, turned: OtherWay) -> Designed:
    """With the way of the joists among what was chosen."""
    why = (
        said("the other way: by estimate {share} percent less cost", share=number(100 * (1 - turned.share), 0))
        if turned.share < 1
        else "some check is not met the other way, whatever is tried"
    )
    turn = Chosen("joist_direction", made.deck.parameters.frame.joist_direction, "auto", why)
    made.deck.notes.append(turn.said)
    made.deck.chosen |= {turn.key}
    return replace(made, chosen=(turn, *made.chosen))


@dataclass
class _Choice:
    """The choice of a frame for one file: `layout` is the file's own plan."""

    parameters: Parameters
    layout: LevelPlan
    progress: Progress
    shop: Workshop
    costs: Costs
    watch: Looked
    below: float = math.inf  # what a frame is to cost less than: one that is met costs as much
    most: float = math.inf  # frames that are built
    built: int = 0

    def made(self) -> Designed:
        estimates = estimated(self.layout, given_keys(self.parameters), self.costs)
        cheaper = [e for e in estimates if e.worth_it][: 1 if self.large else MOST_LOOKED_AT]
        found: list[Designed] = []
        for frame in cheaper:
            if self.built >= self.most:
                break
            made, saved = self._as_estimated(frame)
            found += [made] if made is not None else []
            if made is not None and saved:
                return replace(made, built=self.built)
            if made is not None:
                self.below = min(self.below, self.costs.of_deck(made.deck))
        own, met = self._mended()
        if not met and not found and self.built < self.most:  # dearer ones, that are met
            after = [*estimates[len(cheaper) :][:MOST_LOOKED_AT], *cheaper[:1]]
            rest = (self._as_estimated(frame, bound=False)[0] for frame in after)
            found += itertools.islice((made for made in rest if made is not None), 1)
        best = min([*([own] if met or not found else []), *found], key=lambda d: self.costs.of_deck(d.deck))
        return replace(best, built=self.built)

    @property
    def large(self) -> bool:
        """Whether a frame takes so long to build and judge that few are looked at."""
        return self.layout.outline.polygon.area / SQFT > LARGE_DECK

    def _searched(self, tried: LookedAt, most: int, rows: bool = True, whole: bool = False) -> Candidate:
        """The best that a search finds; with `whole`, what is not met is left as it is, to be given up."""
        finished = MOST_FINISHED
        if self.most < math.inf:
            most, finished = min(most, int(self.most) - self.built), 0
        found = searched(tried, given_keys(self.parameters), most, rows and not self.large, finished)
        return found if whole and not self._keeps(found) else pruned(found, tried)

    def _build(self, parameters: Parameters, layout: LevelPlan | None = None) -> Candidate:
        deck = build(parameters, self.progress, self.shop, layout)
        self.built += 1
        return judged(deck, self.costs, self.watch)

    def _as_estimated(self, frame: Estimated, bound: bool = True) -> tuple[Designed | None, bool]:
        """The deck with an estimated frame, mended where a few keys more do it, and whether what mends it costs less
        than the frame saves. None where it cannot be drawn so, or a check of its frame is not met whatever is tried."""
        framed = self._clear(with_keys(self.parameters, frame.keys))
        if framed is None:
            return None, False
        try:
            framed, plan, doubled = self._with_rims(framed, None)
            plan = plan or lay_out(framed)
            if any(r.flush for r in plan.runs):  # too low for beams under such joists: not what was estimated
                return None, False
            first = made = self._build(framed, plan)
        except DesignError:
            return None, False
        if any(dug_in(made.deck)) or _hopeless(made):
            return None, False
        if not self._keeps(made):
            # mended no further than the plan's own frame would cost by the same error of the estimate
            most = first.cost * frame.instead / frame.cost if bound and frame.worth_it else math.inf
            below = min(self.below, max(most, first.cost * BARELY_DEARER))
            tried = LookedAt(framed, made, self.shop, self.costs, self.watch, below)
            made = self._searched(tried, MOST_MENDED, whole=True)
            self.built += len(tried.made)
            made = self._with_fewer_plies(made) if doubled else made
        if not self._keeps(made):
            return None, False
        if RIM_PLIES in frame.keys:  # as an estimate asked for, on the high side
            made = self._with_one_ply_less(made)
        why = said(
            "{posts} posts, where beams along the edges have {before}, by estimate {share} percent less cost"
            if frame.worth_it
            else "{posts} posts; with beams along the edges, {before} posts, some check is not met whatever is tried",
            posts=number(_own_posts(made.deck.layout)),
            before=number(_own_posts(self.layout)),
            share=number(100 * (1 - frame.cost / frame.instead), 0),
        )
        made = self._on_smaller_footings(made)
        reasons = dict.fromkeys(frame.keys, why) | doubled | {key: _why(mend) for key, mend in made.reasons.items()}
        return self._designed(made, reasons), made.cost - first.cost <= frame.instead - frame.cost

    def _mended(self) -> tuple[Designed, bool]:
        """The deck with the plan's own frame, mended where a member of it is not met, and whether all of it is met
        then. Of a deck between four edges the members alone are asked: it has no odd corner."""
        framed = self._clear(self._hung() or self.parameters) or self.parameters
        framed, plan, reasons = self._with_rims(framed, self.layout if framed is self.parameters else None)
        first = self._build(framed, plan)
        for key in _WANTED:
            if key_value(framed, key) != key_value(self.parameters, key):
                reasons[key] = _WANTED[key]
        plain = len(self.layout.outline.edges) == 4 and all(
            e.parallel_to(self.layout.along) or e.parallel_to(self.layout.across) for e in self.layout.outline.edges
        )
        odd = not plain or bool(self.parameters.design.no_post) or any(dug_in(first.deck))
        if not first.faults and (not odd or self.large or first.met):
            first = self._on_smaller_footings(first, odd)
            return self._designed(first, reasons | {key: _why(m) for key, m in first.reasons.items()}), True
        tried = LookedAt(framed, first, self.shop, self.costs, self.watch, self.below)
        doubled = RIM_PLIES in reasons
        most = MOST_BUILT if self.below == math.inf else MOST_MENDED  # a frame that is met is in hand
        best = self._searched(tried, most, odd)
        self.built += len(tried.made)
        best = self._with_fewer_plies(best) if doubled else best
        met = self._keeps(best)
        best = self._on_smaller_footings(best) if met else best
        return self._designed(best, reasons | {key: _why(mend) for key, mend in best.reasons.items()}), met

    def _with_rims(
        self, framed: Parameters, plan: LevelPlan | None
    ) -> tuple[Parameters, LevelPlan | None, dict[str, Words]]:
        """With a second ply of rims that carry stairs where it would be asked for anyhow."""
        framed, plan, why = with_rims(framed, plan, RIM_PLIES in given_keys(self.parameters))
        return framed, plan, {} if why is None else {RIM_PLIES: why}

    def _with_fewer_plies(self, made: Candidate) -> Candidate:
        """With as few plies of the rims as do, where deeper joists came to be chosen beside them."""
        plies = plies_asked(bent_rims(made.deck.layout))
        if "joist" not in made.reasons or plies >= made.deck.parameters.frame.rim_plies:
            return made
        try:
            after = self._build(with_keys(made.deck.parameters, {RIM_PLIES: plies}))
        except DesignError:
            return made
        if len(after.faults) > len(made.faults) or (self._keeps(made) and not self._keeps(after)):
            return made
        return replace(after, reasons=made.reasons)

    def _with_one_ply_less(self, made: Candidate) -> Candidate:
        """With a ply of the rims less, where all is met so too."""
        try:
            after = self._build(with_keys(made.deck.parameters, {RIM_PLIES: made.deck.parameters.frame.rim_plies - 1}))
        except DesignError:
            return made
        return replace(after, reasons=made.reasons) if self._keeps(after) and after.cost < made.cost else made

    def _on_smaller_footings(self, made: Candidate, rows: bool = True) -> Candidate:
        """With footings no larger than what was measured on them asks for, where all is met on those too: the plan has
        them by an estimate, on the high side."""
        mend = smaller_footings(made.structure.results, made.deck, given_keys(self.parameters))
        if mend is None or not made.followed or self.large:
            return made
        try:
            after = self._build(with_keys(made.deck.parameters, {mend.key: mend.value}))
        except DesignError:
            return made
        if after.faults or (rows and not self._keeps(after)) or after.cost >= made.cost:
            return made
        return replace(after, reasons={**made.reasons, mend.key: mend})

    def kept(self, made: Designed) -> bool:
        """Whether all of a frame that was chosen is met."""
        return self._keeps(Candidate(made.deck, made.structure, {}, 0.0))

    def beyond_keys(self, made: Designed) -> bool:
        """Whether every member of a frame holds, and no key that the file leaves out mends the rows that are left."""
        candidate = Candidate(made.deck, made.structure, {}, 0.0)
        return not candidate.faults and not candidate.mends(given_keys(self.parameters), 0)

    def _keeps(self, made: Candidate) -> bool:
        met = made.followed and not made.faults if self.large else made.met  # rows of a large deck take as long again
        return met and not posts_in_the_way(made.deck.layout)

    def _hung(self) -> Parameters | None:
        """With flush beams, where the shallowest frame is wanted and such a frame can be drawn clear of the ground."""
        p = self.parameters
        if p.design.least != "depth" or not can_hang(p) or {"beam_position", "beam"} & given_keys(p):
            return None
        framed = with_keys(p, {"beam_position": "flush"})
        try:
            return framed if self._build(framed).met else None
        except DesignError:
            return None

    def _clear(self, p: Parameters) -> Parameters | None:
        """The file with posts nearer, or beams so much stronger, that none stands where `design.no_post` keeps a place
        clear; None where nothing does it."""
        if not p.design.no_post:
            return p
        given = given_keys(self.parameters)
        nearer: list[dict[str, object]]
        stronger: list[dict[str, object]]
        nearer = [] if "post_spacing" in given else [{"post_spacing": s} for s in nearer_spacings(self.layout)]
        stronger = [] if {"beam", "beam_plies"} & given else [{"beam": b, "beam_plies": n} for b, n in _STRONGER]
        every: list[dict[str, object]] = [{}, *nearer, *stronger]
        for keys in every:
            tried = with_keys(p, keys)
            try:
                if not posts_in_the_way(lay_out(tried)):
                    return tried
            except DesignError:
                continue
        return None

    def _designed(self, made: Candidate, reasons: dict[str, Words]) -> Designed:
        chosen = tuple(
            Chosen(key, value, _instead(self.parameters, self.layout, key), why)
            for key, why in reasons.items()
            if (value := key_value(made.deck.parameters, key)) != key_value(self.parameters, key)
        )
        made.deck.notes += [c.said for c in chosen]
        made.deck.chosen = frozenset(c.key for c in chosen)
        return Designed(made.deck, made.structure, chosen, 1)


def _hopeless(made: Candidate) -> bool:
    """Whether a frame is so far past its limits that no few keys mend it."""
    known = [row.ratio for _, row in made.faults if row.ratio is not None and math.isfinite(row.ratio)]
    return sum(max(ratio - 1, 0.0) for ratio in known) > MOST_OVER


_WANTED = {
    "beam_position": "the shallowest frame is asked for (design.least)",
    **dict.fromkeys(
        ("post_spacing", "beam", "beam_plies"), "no post stands then where design.no_post keeps a place clear"
    ),
}
_STRONGER = [(beam, plies) for plies in BEAM_PLIES for beam in BEAMS]  # fewer posts do under some of them


def _own_posts(layout: LevelPlan) -> int:
    """Posts under the deck's beams, those of stairs apart."""
    return sum(t.stair is None for s in layout.footings for t in s.stands)


def _instead(parameters: Parameters, layout: LevelPlan, key: str) -> object:
    """What a key was before: where the file leaves it to the plan, what that chose."""
    value = key_value(parameters, key)
    by_plan = {FOOTING_SIZE: layout.footing_size, "joist_spacing": layout.joist_spacing}
    return by_plan.get(key) if value is None else value


def _why(mend: Mend) -> Words:
    row, member = mend.row, mend.member
    if isinstance(row, CheckResult):
        what = said("{rule}, {place},", rule=row.rule, place=row.place)
    else:
        where = f"{member.kind} {member.where}".strip() if member else ""
        what = said("{check} of the {where}", check=row.check, where=where)
    measured, limit = (row.demand, row.capacity) if isinstance(row, Verdict) else (row.measured, row.limit)
    if measured is None or limit is None:
        return said("{what} was not met", what=what)
    return said(
        "{what} was {measured} against {limit}{unit}",
        what=what,
        measured=decimal(measured) if row.unit == "in" else number(measured, 0, grouped=True),
        limit=decimal(limit) if row.unit == "in" else number(limit, 0, grouped=True),
        unit="" if row.unit == "in" else f" {row.unit}",
    )


def _value(value: object) -> str | Quantity:
    return decimal(value, None) if isinstance(value, float) else str(value)
