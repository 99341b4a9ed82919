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
from typing import Any

from ..shared.errors import PlumbcutError

Seconds = dict[str, float]
Later = Callable[[], Any]  # waits for what the block hands over
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
    """What comes through `handed`, taken from it at once by a thread, so that nobody waits at the other end."""
    arrived: SimpleQueue = SimpleQueue()
    found: list = []

    def take() -> None:
        try:
            arrived.put((handed.recv(),))
        except EOFError:
            arrived.put(())

    threading.Thread(target=take, daemon=True).start()

    def later() -> Any:
        if not found:
            found.extend(arrived.get())
        if not found:
            raise RuntimeError("the block ended without handing anything over")
        return found[0]

    return later


def _child(work: Callable[[Later], Seconds], send: Connection, handed: Connection, hand: Connection) -> None:
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


@contextlib.contextmanager
def beside(work: Callable[[Later], Seconds], take: Callable[[Seconds], None]) -> Iterator[Callable[[Any], None]]:
    """Run `work` beside the block; at its end `take` gets the stage times. Without a second core, `work` runs after the
    block. The block is given a function that hands one thing over to `work`, which is given one that waits for it.

    Raises PlumbcutError with the message of one raised in `work`, RuntimeError with the traceback of anything else.
    """
    if not can_fork():
        given: list = []
        yield given.append
        take(work(lambda: given[-1]))
        return
    context = multiprocessing.get_context("fork")
    receive, send = context.Pipe(duplex=False)
    handed, hand = context.Pipe(duplex=False)
    process = context.Process(target=_child, args=(work, send, handed, hand))
    process.start()
    send.close()
    handed.close()

    def over(thing: Any) -> None:
        with contextlib.suppress(BrokenPipeError):  # that process is gone: said below
            hand.send(thing)

    try:
        yield over
    except BaseException:
        process.terminate()
        process.join()
        raise
    finally:
        hand.close()
    try:
        kind, text, seconds = receive.recv()
    except EOFError:
        kind, text, seconds = "error", "the process that draws the sheets ended without a word", {}
    process.join()
    if kind == "fault":
        raise PlumbcutError(text)
    if kind == "error":
        raise RuntimeError(text)
    take(seconds)
