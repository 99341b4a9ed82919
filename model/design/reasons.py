"""Why the frame is as it is: of each key its value, who gave it, the row of a member that comes nearest to its limit,
and the runner-up with what it would have cost.

Nothing is built for it: rows are those of the finished structure, other frames those that were estimated (`estimate`),
else the next value of what is sold (`next_values`). Lengths in inches, timber in cubic inches.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Literal

import numpy as np

from ...shared.prices import Prices
from ...shared.said import Words, listed, number, said, size, together
from ...shared.standards import find_limit
from ..measuring.measure import measure_all
from ..plan.house_places import house_chosen
from ..rules.check_frame import check_depths
from ..rules.check_result import Checking
from ..structure.prescribed import OF_THICKNESS, SHARES, Prescribed
from ..structure.structure import MemberResult
from ..structure.verdicts import NOT_CHECKED, NOT_MET
from .costs import Costs
from .designed import Designed
from .estimate import BEAM_PLIES, WORTH_IT, Estimated, estimated
from .frame_cost import FrameCost
from .joist_rows import rows_of
from .landing_keys import CHOSEN_KEYS, LandingKey, landing_key
from .mends import BEAMS, FOOTING_SIZE, JOISTS, SPACINGS, Unmet, given_keys, key_value
from .next_values import NextValues, RunnerUp

LITTLE = 0.6  # of a limit: a member used to less of every limit is explained (our own)
SEARCHED: Mapping[str, Sequence[object]] = {
    "joist": JOISTS,
    "joist_spacing": SPACINGS,
    "beam": BEAMS,
    "beam_plies": BEAM_PLIES,
}
OF_THE_CANTILEVER = ("overhang", "hogging")  # of a joist's rows those that its length past the beam decides
OF_LINES = ("beam_lines", "cantilever")  # either says where the beams lie
OF_SIZES = {"joist", "joist_spacing", "beam", "beam_plies", "rim_plies"}  # no share of a length hangs on these
UNSIZED = {"knee_braces", "blocking_rows", "blocking_at_beams"}  # no size of theirs is judged
DEPTH, BRACES = "footing.depth", "knee_braces"
Origin = Literal["given", "chosen", "default", "worked out"]


@dataclass(frozen=True)
class Reason:
    """One key of the frame. `origin`: the file gives its value, it was chosen, the schema's default stands, or it is
    worked out in plan where the default is none. `member` and `row` have least room of all that the key decides."""

    key: str
    value: object
    origin: Origin
    member: MemberResult | None
    row: Unmet | None
    runner_up: RunnerUp | None
    why: Words

    @property
    def ratio(self) -> float | None:
        """Of the row that bound it; infinite where it is not met without one."""
        if self.row is None:
            return None
        return math.inf if self.row.ratio is None else float(self.row.ratio)

    @property
    def source(self) -> Words:
        """Of the rule that bound it."""
        if self.row is None:
            return ""
        return self.row.source if isinstance(self.row, Prescribed) else self.row.rule


def reasons(made: Designed, prices: Prices | None = None) -> list[Reason]:
    """The reasons of a deck's frame, key by key, in the order in which a frame is thought of."""
    found = _Reasons(made, FrameCost(made.deck, prices or Prices()))
    return [found.of(key) for key in found.keys]


@dataclass(frozen=True)
class _Reasons:
    made: Designed
    cost: FrameCost

    @cached_property
    def next(self) -> NextValues:
        return NextValues(self.made.deck, self.made.structure, self.cost)

    @cached_property
    def given(self) -> set[str]:
        p = self.made.deck.parameters
        depth = {DEPTH} if p.frame.footing.depth is not None else set()
        return (given_keys(p) | depth) - self.made.deck.chosen

    @cached_property
    def estimated(self) -> tuple[float, Sequence[Estimated]]:
        """What the frame costs by estimate, and the others, cheapest first; none of a frame that cannot be reckoned."""
        layout = self.made.deck.layout
        found = estimated(layout, self.given, Costs.of(layout.parameters, self.cost.prices))
        return (found[0].instead if found else 0.0), found

    @property
    def keys(self) -> Iterator[str]:
        f = self.made.deck.parameters.frame
        lines = "beam_lines" if f.beam_lines is not None else "cantilever"
        yield from (
            "support",
            "joist_direction",
            "joist",
            "joist_spacing",
            lines,
            "beam",
            "beam_plies",
            "beam_position",
        )
        yield from ("post_spacing", "post", "rim_plies", FOOTING_SIZE, DEPTH)
        yield from (BRACES, "blocking_rows", "blocking_at_beams")
        for plan in self.made.deck.layout.stair_plans:
            for landing in plan.landings:
                if not landing.on_ground:
                    yield from (LandingKey(plan.index, landing.index, key).name for key in CHOSEN_KEYS)

    def of(self, key: str) -> Reason:
        origin = self._origin(key)
        member, row = self._bound(key)
        less, more = self.next.beside(key)
        failed = any(less and c.key == key and c.instead == less.value for c in self.made.chosen)  # built, and not met
        if key == "beam" and origin == "worked out":
            more = None  # the deck is too low for it
        other = self._of_estimates(key)
        may = [n for n in (less, more) if n and (n.passes or (n.ratio is None and (n is more or key in UNSIZED)))]
        may = [n for n in may if not (failed and n is less)]
        runner_up = other or next(iter(may), None)
        why = together(
            self._who(key, origin),
            self._other_way if key == "joist_direction" else "",
            self._cheaper(runner_up) if other else "",
            self._not_less(key, origin, row, less, less is not None and runner_up is less, failed),
        )
        return Reason(key, self._value(key), origin, member, row, runner_up, why)

    def _origin(self, key: str) -> Origin:
        if key in self.made.deck.chosen:
            return "chosen"
        if key in self.given:
            return "given"
        p = self.made.deck.parameters
        now = p.frame.footing.depth if key == DEPTH else key_value(p, key)
        low = key == "beam" and self._value(key) != now
        return "worked out" if now is None or low else "default"

    def _bound(self, key: str) -> tuple[MemberResult | None, Unmet | None]:
        """The row with least room, of all rows of all members that the key decides."""
        if key == DEPTH:
            return None, max(self._depths, key=_ratio, default=None)
        rows: list[tuple[MemberResult, Unmet]] = list(self.next.on_posts) if key == "post" else []
        for r in self.next.decided(key):
            rows += [(r, row) for row in r.table]
            rows += [(r, row) for row in r.calculation]
        told = [(r, row) for r, row in rows if _counts(key, row)]
        return max(told, key=lambda f: _ratio(f[1]), default=(None, None))

    @property
    def _depths(self) -> list[Prescribed]:
        """How deep the footings lie, against the published depth and the file's frost line."""
        seen = Checking(self.made.deck, measure_all(self.made.deck.roles("footing")))
        check_depths(seen)
        return [
            Prescribed(r.rule, r.measured, r.limit, r.unit, r.result, r.source, r.why, False)
            for r in seen.results
            if r.result != NOT_CHECKED
        ]

    def _of_estimates(self, key: str) -> RunnerUp | None:
        """The cheapest frame that was estimated with another value of the key."""
        names = OF_LINES if key in OF_LINES else (key,)
        _, frames = self.estimated
        failed = {(c.key, c.instead) for c in self.made.chosen if not isinstance(c.instead, (list, dict))}
        able = (
            e for e in frames if not any((k, v) in failed for k, v in _plain(e.keys))
        )  # those were left for a reason
        found = next((e for e in able if any(name in e.keys for name in names)), None)
        if found is None or key in self.given:
            return None
        name = next(name for name in names if name in found.keys)
        own = [s for s in self.made.deck.layout.footings if any(t.stair is None for t in s.stands)]
        posts = found.posts - len(own)
        timber = found.adds
        prices = self.cost.of_timber(timber), self.cost.a_footing
        price = None if prices[0] is None or prices[1] is None else prices[0] + posts * prices[1]
        beside = {k: v for k, v in found.keys.items() if k != name}
        if name != key:  # the lines instead of a cantilever, or the other way about
            beside = {name: found.keys[name], **beside}
        return RunnerUp(found.keys[name] if name == key else None, timber, posts, price=price, beside=beside)

    def _value(self, key: str) -> object:
        deck = self.made.deck
        layout, p = deck.layout, deck.parameters
        found = landing_key(key)
        if found is not None:
            return getattr(layout.stair_plans[found.stair].landings[found.landing], found.key)
        seen: dict[str, object] = {
            "support": "free-standing" if p.free_standing else "ledger",
            "joist_spacing": layout.joist_spacing,
            "beam": layout.beam_stock(layout.flush).name,
            "beam_position": "flush" if layout.flush else "under",
            "post_spacing": p.frame.post_spacing or self._posts_apart,
            FOOTING_SIZE: layout.footing_size,
            DEPTH: p.footing_depth,
            BRACES: bool(deck.roles("knee brace")),
            "beam_lines": self._lines,
        }
        return seen[key] if key in seen else key_value(p, key)

    @property
    def _lines(self) -> tuple[float, ...]:
        """Where the beams lie, along the joists from the low end of the plan."""
        layout = self.made.deck.layout
        rows = rows_of(layout)
        middles = (np.add(r.start, r.end) / 2 for r in layout.runs)
        places = rows.from_low_end(layout, [float(m @ rows.along) - rows.begin for m in middles])
        return tuple(sorted({round(x, 3) for x in places}))

    @property
    def _posts_apart(self) -> float | None:
        """The longest span of a beam, as measured."""
        facts = (line for r in self.next.decided("post_spacing") for line in r.facts)
        return max((line.value for line in facts if line.label == "span"), default=None)

    def _who(self, key: str, origin: Origin) -> Words:
        """Where the value comes from."""
        if origin == "given":
            return "as the file gives it"
        if origin == "chosen":
            return next((c.why for c in self.made.chosen if c.key == key), "chosen")
        if (told := self._worked_out(key)) is not None:
            return told
        return "the schema's default" if origin == "default" else "worked out in plan"

    @property
    def _other_way(self) -> Words:
        """What joists the other way would cost."""
        if self.made.other_way is None:
            return ""
        share, built = self.made.other_way
        text = "the other way {percent} percent {than}{built}"
        percent, than = number(abs(100 * (share - 1)), 0), "dearer" if share >= 1 else "cheaper"
        how = ", as built" if built else " by estimate"
        return said(text, percent=percent, than=than, built=how)

    def _worked_out(self, key: str) -> Words | None:
        """By what a key that has no value of its own is worked out."""
        deck = self.made.deck
        p, edition = deck.parameters, deck.parameters.local.edition
        if key == "support":
            by_house = (why for name, _, why in house_chosen(deck.layout) if name == f"frame.{key}")
            return next(by_house, "a ledger where an edge lies against the house, else beams and posts all round")
        if key == "joist_direction":
            edge = next(
                (e for e in deck.layout.outline.edges if e.house and not e.parallel_to(deck.layout.along)), None
            )
            return None if edge is None else f"the joists run from the {edge.name} edge, which lies against the house"
        if key == "joist_spacing":
            return "the usual spacing, or what the boards ask for where that is less"
        if key == "beam_position":
            return "under the joists where the height leaves room for it, else flush"
        if key == "post_spacing":
            return "the longest span of a beam, by its table and calculation and evenly divided"
        if key == "beam" and deck.layout.flush:
            return "of the joists' stock, as it lies at their level"
        if key == "cantilever" and deck.layout.flush:
            return "no joist goes past a flush beam"
        if key == "beam" and deck.layout.beam.name != p.frame.beam:
            return f"shallower than the default of {p.frame.beam}: the deck is low"
        if key == FOOTING_SIZE:
            return "what the table and the load on the soil ask for, up to the next even inch"
        found = landing_key(key)
        if found is not None and found.key == "post_spacing":
            return "under the corners of the landing, and under its middle where the stair turns back"
        if key == DEPTH:
            least = find_limit("footing_depth_below_grade_min", edition)
            frost = p.local.frost_depth
            if least is not None and (frost is None or frost < least.value) and p.footing_depth == least.value:
                return together("the least depth", least.citation, between=": ")
            return (
                "as deep as is usual, without a frost line in the file (common practice, no source)"
                if frost is None
                else "down to the frost line of the file"
            )
        if key == BRACES:
            asked = find_limit("diagonal_bracing_post_height_min", edition)
            n = len(deck.roles("knee brace"))
            source = "" if asked is None else asked.citation
            return together(said("{n} of them", n=n) if n else "no post asks for one that has room for it", source)
        return None

    def _cheaper(self, other: RunnerUp | None) -> Words:
        """Why a frame that would be cheaper by estimate was not taken."""
        now, _ = self.estimated
        if other is None or other.weighs >= 0:
            return ""
        share = number(-100 * other.weighs / now, 0)
        if now + other.weighs > WORTH_IT * now:
            return said(
                "the runner-up is {share} percent cheaper by estimate, less than is worth a search", share=share
            )
        return said(
            "the runner-up is {share} percent cheaper by estimate: of such frames the cheapest few are built, and none"
            " was met for less",
            share=share,
        )

    def _not_less(
        self, key: str, origin: Origin, row: Unmet | None, less: RunnerUp | None, passes: bool, failed: bool
    ) -> Words:
        """Why it is as large as it is, of what is used to little of every limit, and where the next less passes."""
        little = row is not None and row.ratio is not None and row.ratio < LITTLE and key in self._sized
        told = said("used to {ratio} of its limit at most", ratio=number(row.ratio or 0.0, 3)) if row else ""
        used = told if little else ""
        if not little and not passes:
            return ""
        if key in UNSIZED:
            return "not tried without it"
        if less is None:
            return together(used, "there is nothing less of it")
        value = value_words(less.value)
        if failed:
            return together(used, said("{value} was built, and not met", value=value))
        if less.ratio is None:
            text = "{value} is outside the table" if less.check else "{value} was not judged"
            return together(used, said(text, value=value))
        given = {"value": value, "check": less.check, "ratio": number(less.ratio, 2)}
        if not less.passes:
            text = "{value} would not do: {check} at {ratio} of its limit, by estimate"
        elif origin == "given":
            text = "{value} would do by estimate: {check} at {ratio} of its limit"
        elif key in ("post_spacing", FOOTING_SIZE):
            text = (
                "{value} would do by estimate, {check} at {ratio} of its limit: the plan asked for more before anything"
                " was measured"
            )
        elif less.value in SEARCHED.get(key, ()):
            text = "{value} would have {check} at {ratio} of its limit: no frame a tenth cheaper was found with it"
        else:
            text = "{value} would have {check} at {ratio} of its limit by estimate: no such frame is looked for"
        return together(used, said(text, **given))

    @property
    def _sized(self) -> set[str]:
        """The keys that size something."""
        plain = {*SEARCHED, "post_spacing", "post", "rim_plies", FOOTING_SIZE}
        return plain | {k for k in self.keys if (found := landing_key(k)) and found.key == "rim_plies"}


def value_words(value: object) -> Words:
    """A value of a key in words: a number with a fraction or not is a length where it is a float."""
    if isinstance(value, (list, tuple)):
        return listed([size(float(v)) for v in value])
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return said("{value}", value=size(value))
    return "-" if value is None else str(value)


def _plain(keys: Mapping[str, object]) -> list[tuple[str, object]]:
    """Those whose value is one thing."""
    return [(k, v) for k, v in keys.items() if not isinstance(v, (list, dict))]


def _counts(key: str, row: Unmet) -> bool:
    """Whether a row of a member says something of a key's value."""
    if row.result != NOT_MET and (row.ratio is None or row.result == NOT_CHECKED):
        return False
    if key == "cantilever":
        return any(name in row.check for name in OF_THE_CANTILEVER)
    if key in OF_SIZES:
        return row.check not in SHARES
    return not (key == FOOTING_SIZE and row.check == OF_THICKNESS)


def _ratio(row: Unmet) -> float:
    return math.inf if row.ratio is None else row.ratio
