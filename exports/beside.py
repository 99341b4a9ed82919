"""Work that runs beside the rest of a build in a process of its own, where the machine has a second core and can fork.

The forked process sees the finished model without copying or pickling it; it writes files and hands back its stage
times. What is worked out meanwhile can be handed to it.
"""

from __future__ import annotations

import contextlib
import ctypes
import multiprocessing
import os
import signal
import sys
import threading
import traceback
from collections.abc import Callable, Iterator, Sequence
from multiprocessing.connection import Connection, wait
from queue import SimpleQueue
from typing import TYPE_CHECKING, Any

from ..shared.errors import PlumbcutError

if TYPE_CHECKING:
    from multiprocessing.context import ForkProcess

Seconds = dict[str, float]
Later = Callable[[str], Any]  # waits for what is handed over under a name
Work = Callable[[Later], Seconds]
_SIGNAL_AT_PARENTS_DEATH = 1  # PR_SET_PDEATHSIG of linux/prctl.h


def can_fork() -> bool:
    return (os.cpu_count() or 1) > 1 and "fork" in multiprocessing.get_all_start_methods() and os.name == "posix"


def end_with_parent() -> None:
    """Called in a process that `multiprocessing` started: from now on it ends at once when its parent does, however
    that one ends.

    On Linux the system sees to it, even where a call into a library holds the interpreter; elsewhere a thread does that
    waits for the parent's end of a pipe to go.
    """
    parent = multiprocessing.parent_process()
    if parent is None:
        return
    if sys.platform.startswith("linux"):
        with contextlib.suppress(OSError, AttributeError):
            ctypes.CDLL(None).prctl(_SIGNAL_AT_PARENTS_DEATH, signal.SIGKILL)

    def follow() -> None:
        wait([parent.sentinel])
        os._exit(1)

    threading.Thread(target=follow, daemon=True).start()  # and for a parent that was gone before the system was told


def _later(handed: Connection) -> Later:
    """What comes through `handed`, by name, taken from it at once by a thread: nobody waits at the other end."""
    arrived: SimpleQueue = SimpleQueue()
    found: dict[str, Any] = {}

    def take() -> None:
        with contextlib.suppress(EOFError):
            while True:
                arrived.put(handed.recv())
        arrived.put(None)

    threading.Thread(target=take, daemon=True).start()

    def later(name: str) -> Any:
        while name not in found:
            came = arrived.get()
            if came is None:
                raise RuntimeError(f"the block ended without handing over its {name}")
            found.update([came])
        return found[name]

    return later


def _child(work: Work, send: Connection, handed: Connection, hand: Connection) -> None:
    end_with_parent()
    hand.close()  # the parent's end: else this process would keep it open for itself
    try:
        send.send((None, "", work(_later(handed))))
    except PlumbcutError as e:
        send.send(("fault", str(e), {}))
    except BaseException:  # handed over whole: the parent raises it again with this traceback
        send.send(("error", traceback.format_exc(), {}))
    finally:
        send.close()


class OneByOne(Iterator[Callable[..., Any]]):
    """Things that this process and one forked from it take from together: each comes to the one that asks for it
    first, in order.

    Their numbers lie in a pipe, from which one reading takes one away: nothing is locked, whichever process ends.
    """

    def __init__(self, things: Sequence[Callable[..., Any]]):
        assert len(things) < 256, "a number is one byte"
        self._things = things
        self._numbers, put_in = os.pipe()
        os.write(put_in, bytes(range(len(things))))
        os.close(put_in)

    def __next__(self) -> Callable[..., Any]:
        number = os.read(self._numbers, 1)
        if not number:
            raise StopIteration
        return self._things[number[0]]

    def __del__(self) -> None:
        os.close(self._numbers)


class Beside:
    """Work in a process of its own beside this one, given by `begin`; without a second core it is done at the end."""

    def __init__(self) -> None:
        self._work: Work | None = None
        self._process: ForkProcess | None = None
        self._receive: Connection | None = None
        self._hand: Connection | None = None
        self._given: dict[str, Any] = {}

    def begin(self, work: Work) -> None:
        """Start this work. What was begun before is given up, its process gone when this returns."""
        self.give_up()
        self._work = work
        if not can_fork():
            return
        context = multiprocessing.get_context("fork")
        self._receive, send = context.Pipe(duplex=False)
        handed, self._hand = context.Pipe(duplex=False)
        self._process = context.Process(target=_child, args=(work, send, handed, self._hand))
        self._process.start()
        send.close()
        handed.close()

    def hand(self, name: str, thing: Any) -> None:
        """Hand a thing over to the work, which asks for it by name and waits for it."""
        self._given[name] = thing
        if self._hand is not None:
            with contextlib.suppress(BrokenPipeError):  # that process is gone: said by `finished`
                self._hand.send((name, thing))

    def give_up(self) -> None:
        """End the work where it is."""
        if self._process is not None:
            self._process.terminate()
            self._closed()
        self._work = None

    def _closed(self) -> None:
        """Wait for the process to be gone and let its pipes go."""
        for pipe in (self._hand, self._receive):
            if pipe is not None:
                pipe.close()
        if self._process is not None:
            self._process.join()
        self._process = self._hand = self._receive = None

    def finished(self) -> Seconds:
        """The work's stage times, waited for. Raises what `beside` says."""
        if self._work is None:
            return {}
        if self._receive is None:
            return self._work(self._given.__getitem__)
        if self._hand is not None:
            self._hand.close()
        try:
            kind, text, seconds = self._receive.recv()
        except EOFError:
            kind, text, seconds = "error", "the process that draws the sheets ended without a word", {}
        self._closed()
        if kind == "fault":
            raise PlumbcutError(text)
        if kind == "error":
            raise RuntimeError(text)
        return seconds


@contextlib.contextmanager
def beside(take: Callable[[Seconds], None]) -> Iterator[Beside]:
    """Work that the block begins runs beside it; at its end `take` gets the stage times.

    Raises PlumbcutError with the message of one raised in the work, RuntimeError with the traceback of anything else.
    """
    second = Beside()
    try:
        yield second
    except BaseException:
        second.give_up()
        raise
    take(second.finished())
