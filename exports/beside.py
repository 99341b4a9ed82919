"""Work that runs beside the rest of a build in a process of its own, where the machine has a second core and can fork.

The forked process sees the finished model without copying or pickling it; it writes files and hands back its stage
times.
"""

from __future__ import annotations

import contextlib
import multiprocessing
import os
import threading
import traceback
from collections.abc import Callable, Iterator

from ..shared.errors import PlumbcutError

Seconds = dict[str, float]


def can_fork() -> bool:
    return (os.cpu_count() or 1) > 1 and "fork" in multiprocessing.get_all_start_methods() and os.name == "posix"


def _end_with_parent(alive) -> None:
    """End this process at once when the other end of the pipe goes, as it does however the parent ends."""
    try:
        alive.recv()
    except EOFError:
        os._exit(1)


def _child(work: Callable[[], Seconds], send, alive, parents_end) -> None:
    parents_end.close()  # the fork's own copy would keep the pipe open
    threading.Thread(target=_end_with_parent, args=(alive,), daemon=True).start()
    try:
        send.send((None, "", work()))
    except PlumbcutError as e:
        send.send(("fault", str(e), {}))
    except BaseException:  # handed over whole: the parent raises it again with this traceback
        send.send(("error", traceback.format_exc(), {}))
    finally:
        send.close()


@contextlib.contextmanager
def beside(work: Callable[[], Seconds], take: Callable[[Seconds], None]) -> Iterator[None]:
    """Run `work` beside the block; at its end `take` gets the stage times. Without a second core, `work` runs after the
    block.

    Raises PlumbcutError with the message of one raised in `work`, RuntimeError with the traceback of anything else.
    """
    if not can_fork():
        yield
        take(work())
        return
    context = multiprocessing.get_context("fork")
    receive, send = context.Pipe(duplex=False)
    alive, parents_end = context.Pipe(duplex=False)
    process = context.Process(target=_child, args=(work, send, alive, parents_end))
    process.start()
    send.close()
    alive.close()
    try:
        yield
    except BaseException:
        process.terminate()
        process.join()
        raise
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
