"""Reactions handed from member to member, down to posts and footings, as `second_path` follows them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
from boards_across import LoadedMembers
from path_on_solids import BLOCKS, MEMBERS, Brings, Timber


class FrameOnSolids(LoadedMembers):
    """The frame of a deck with all that stands on it and the way down."""

    def in_order(self) -> Iterator[Timber]:
        """Members so that each comes after all that it carries."""
        every = [*self.stringers, *self.members]
        below = {
            id(m): {id(h): h for s in m.supports for k in s.on for h in self._takes(k) if h is not m} for m in every
        }
        waiting = {id(m): 0 for m in every}
        for found in below.values():
            for h in found:
                waiting[h] += 1
        ready = [m for m in every if not waiting[id(m)]]
        while ready:
            m = ready.pop()
            yield m
            for key, h in below[id(m)].items():
                waiting[key] -= 1
                if not waiting[key]:
                    ready.append(h)

    def _takes(self, i: str, seen: tuple[str, ...] = ()) -> list[Timber]:
        """The members to which a load on a piece can come."""
        if i in self.home:
            return [self.home[i]]
        if self.role(i) in (*BLOCKS, "stair header") and i not in seen:
            return [m for t in self.on[i] for m in self._takes(t.b, (*seen, i)) if m.role != "stringer"]
        return []

    def handed(self, m: Timber, reactions: Sequence[Brings]) -> list[Brings]:
        """What the supports of a member are given: of a stringer, as of simple spans or one beam, if more."""
        if m.role != "stringer":
            return list(reactions)
        xs = [s.x for s in m.supports]
        found = [Brings(0, 0) for _ in xs]
        for b in m.loads:
            x = min(max((b.start + b.end) / 2, 0.0), m.length)
            k = next(n for n in range(len(xs) - 1) if x <= xs[n + 1] + 1e-9)
            f = (x - xs[k]) / (xs[k + 1] - xs[k])
            for n, share in ((k, 1 - f), (k + 1, f)):
                more = found[n].steady + b.steady * share
                found[n] = Brings(0, 0, more, more, 0.0, 0.0)
        most = [max(f.steady, r.steady) for f, r in zip(found, reactions)]
        return [Brings(0, 0, x, x, 0.0, 0.0) for x in most]

    def hand(self, i: str, point: np.ndarray, b: Brings, on_post: dict, left: list[str]) -> None:
        """Gives a reaction to the piece that takes it."""
        if i in self.home:
            m = self.home[i]
            m.loads.append(b.at(min(max(m.x(point), 0.0), m.length)))
        elif self.role(i) in ("post", "post base", "footing"):
            key = self._under(i) if self.role(i) == "post base" else i
            on_post[key or i].append(b)
        elif self.role(i) in (*BLOCKS, "stair header"):
            self._through_block(i, point, b, on_post, left)
        elif self.role(i) not in ("ledger", "pad"):
            left.append(f"{i} takes a load")

    def _through_block(self, i: str, point: np.ndarray, b: Brings, on_post: dict, left: list[str]) -> None:
        """A header gives a load to what it is nailed to there, a block by the lever to what holds its ends."""
        d = self.axis(i)[:2]
        s = float(np.array(point) @ d)
        header = self.role(i) == "stair header"
        if header and any(self.role(t.b) == "pad" for t in self.on[i]):
            return  # anchored to concrete that lies on the ground
        down = [t for t in self.on[i] if self.role(t.b) in (*MEMBERS, "post", "ledger", *(BLOCKS if header else ()))]
        if header and (over := [t for t in down if t.b in self.home and abs(t.normal[:2] @ d) < 0.5]):
            self.hand(over[0].b, point, b, on_post, left)
            return
        ends = sorted(
            (float(t.middle[:2] @ d), k) for k, t in enumerate(down) if header or abs(t.normal[:2] @ d) > 0.17
        )
        if not ends:
            left.append(f"{i} passes nothing on")
            return
        lo = max((e for e in ends if e[0] <= s), default=ends[0])
        hi = min((e for e in ends if e[0] > s), default=ends[-1])
        f = (s - lo[0]) / (hi[0] - lo[0]) if hi[0] > lo[0] else 0.0
        for (_, k), share in ((lo, 1 - min(max(f, 0), 1)), (hi, min(max(f, 0), 1))):
            if share > 1e-9:
                self.hand(down[k].b, down[k].middle[:2], b * share, on_post, left)
