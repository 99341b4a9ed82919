"""`plumbcut watch`: build again on every save and bring the page up to date.

What did not change is kept from build to build: a shape's solid and everything read off it, and a piece that stands
where it stood, with its measurements. Made again every time: the plan, the contacts (a few hundredths of a second on a
whole deck) and the checks, for any of them may change with any figure. The page gets the new model first and the checks
as soon as they are worked out; in between it says so.
"""

from __future__ import annotations

import threading
import time
import traceback
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from types import SimpleNamespace
from typing import Any

from ...model.deck import Deck
from ...model.design.advised import checked_with_mends
from ...model.design.designed import designed
from ...model.measuring.measure import Measured, measure_all
from ...model.parameter_file import LARGEST_FILE, locate, prepare
from ...model.solid.part import Part, Workshop
from ...model.structure.structure import Structure
from ...shared.errors import DesignError, PlumbcutError
from ..named_files import prices_known
from .desk import Desk
from .preview import model_data
from .serve import Feed, Server

EVERY = 0.04  # seconds between looks at the file: a page of text is read in less than a thousandth of that
GRACE = 0.3  # an editor may empty or move the file away for a moment before it writes the new text
_STORE = 4000  # shapes kept before those of long-gone builds are dropped

PENDING = (
    {"rule": "all rules", "piece": "whole deck", "result": "not checked", "why": "being worked out for this change"},
)


@dataclass
class Rebuilder:
    """Builds one file again and again. `kept` counts the pieces of the last build that were taken over whole."""

    path: Path
    kept: int = 0
    _shop: Workshop = field(default_factory=Workshop)
    _parts: dict[tuple, Part] = field(default_factory=dict)
    _measured: dict[Part, Measured] = field(default_factory=dict)
    structure: Structure | None = None  # of the last build: its frame was chosen by it

    def model(self) -> tuple[Deck, Sequence[Measured]]:
        """The deck of the file as it is now, measured. Raises InputError with file, line and key."""
        parameters, layout = prepare(self.path)
        try:
            listed = prices_known(parameters, self.path)
            made = designed(parameters, shop=self._shop, layout=layout, prices=listed)
        except DesignError as e:
            raise locate(self.path, e) from None
        deck, self.structure = made.deck, made.structure
        known = self._parts
        deck.parts = [known.get(_key(p), p) for p in deck.parts]
        fresh = [p for p in deck.parts if p not in self._measured]
        sizes = self._measured | dict(zip(fresh, measure_all(fresh)))
        self.kept = len(deck.parts) - len(fresh)
        self._parts = {_key(p): p for p in deck.parts}
        self._measured = {p: sizes[p] for p in deck.parts}
        if len(self._shop.shapes) > _STORE:
            self._shop.shapes.keep(p.shape for p in deck.parts)
        return deck, list(self._measured.values())


def _key(p: Part) -> tuple:
    """All that makes a piece what it is. Equal shapes are one object in one shop."""
    return p.role, p.stock, id(p.shape), p.place, p.where, p.edge, p.stair, p.step, p.mark, p.id, p.carried_by


def empty(path: Path) -> dict[str, Any]:
    """What the page shows before the first good build."""
    return model_data(
        SimpleNamespace(parts=[], parameters=SimpleNamespace(project=SimpleNamespace(name=path.stem))), (), ()
    )


class Watch:
    """Follows one file: `feed` is what the page shows. `say` gets a line for the terminal after each build."""

    def __init__(self, path: Path, feed: Feed | None = None, say: Callable[[str], None] = lambda line: None):
        self.path, self.say = Path(path), say
        self.feed = feed or Feed(empty(self.path))
        self.rebuilder = Rebuilder(self.path)
        self.desk = Desk(self.path)
        self._built: bytes | None = None

    def look(self) -> bool:
        """Build where the file is not as last built. True where it was."""
        text = _text(self.path)
        if text == self._built:
            return False
        if not text.strip():  # give an editor a moment
            end = time.monotonic() + GRACE
            while not (text := _text(self.path)).strip() and time.monotonic() < end:
                time.sleep(EVERY)
        self._built = text
        self.feed.filed(self.desk.seen(text))
        self._build()
        return True

    def _build(self) -> None:
        start = time.perf_counter()
        try:
            deck, measured = self.rebuilder.model()
            self.desk.built = deck.parameters
            self.feed.show(model_data(deck, measured, PENDING))
            shown = time.perf_counter() - start
            if _text(self.path) != self._built:
                return  # saved again meanwhile: the next look builds that
            checks = checked_with_mends(deck, measured, self.rebuilder.structure)
            self.feed.show(model_data(deck, measured, checks))
        except PlumbcutError as e:
            self.feed.fail(str(e))
            self.say(str(e))
        except Exception as e:  # a fault of ours must not end the watch: the builder mends the file and goes on
            traceback.print_exc()
            self.feed.fail(
                f"{self.path}: this design could not be built ({type(e).__name__}: {e}); the last good model stays"
            )
            self.say(f"{self.path}: could not be built; the fault is ours and stands above")
        else:
            done = time.perf_counter() - start
            missed = sum(c.result == "not met" for c in checks)
            self.say(
                f"{len(deck.parts)} pieces, {self.rebuilder.kept} kept; shown in {shown:.2f} s, checked in {done:.2f}"
                f" s; {missed} checks not met"
            )

    def follow(self, stop: threading.Event) -> None:
        """Look until `stop` is set."""
        while not stop.is_set():
            self.look()
            stop.wait(EVERY)


def _text(path: Path) -> bytes:
    """The file's text; empty where there is none to read just now (the build then says why)."""
    try:
        with open(path, "rb") as file:
            return file.read(LARGEST_FILE + 1)
    except OSError:
        return b""


def watch(path: Path, port: int, show: Callable[[str], object], say: Callable[[str], None]) -> None:
    """Serve and follow until interrupted. `show` is called with the page's address once there is something to see.

    Raises InputError where the port is taken.
    """
    following = Watch(path, say=say)
    server = Server(following.feed, port, following.desk)
    server.start()
    try:
        following.look()
        say(f"{server.url} follows {path}; Ctrl-C ends it")
        show(server.url)
        following.follow(threading.Event())
    except KeyboardInterrupt:
        pass
    finally:
        server.stop()
