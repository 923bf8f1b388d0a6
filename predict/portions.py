"""Work shared out among processes in portions.

The children are copies of this process (fork), so what they work on need not be sent; only results are,
through pipes. A child that ends before its work is done (killed, out of memory) is an error here, and none
outlives this process by more than the portion it is working on. On a system without fork, or for one
process, the work is done here: the results are the same.
"""

from __future__ import annotations

import multiprocessing
import os
import signal
from collections.abc import Callable, Iterator, Sequence
from multiprocessing.connection import Connection, wait
from typing import Any, TypeVar

from .telling import heard_by

Result = TypeVar("Result")


def processes_at_hand() -> int:
    """Processes that can run side by side here, count; 1 if work cannot be shared out."""
    if "fork" not in multiprocessing.get_all_start_methods():
        return 1
    affinity = getattr(os, "sched_getaffinity", None)
    return len(affinity(0)) if affinity is not None else os.cpu_count() or 1


def shared_out(work: Callable[[int], Result], count: int, processes: int) -> Iterator[tuple[int, Result]]:
    """Results of all portions 0 … count − 1, in the order in which they are finished.

    An exception in ``work`` is raised here.

    Parameters
    ----------
    work : Callable[[int], Result], a pure function of the portion's number; its results are pickled
    count : int, count
    processes : int, processes to be used, count

    Yields
    ------
    tuple[int, Result]
        Number of the portion (index), and its result.

    Raises
    ------
    ChildProcessError
        A process ended before its portions were done.
    """
    if processes < 2 or count < 2:
        for number in range(count):
            yield number, work(number)
        return
    context = multiprocessing.get_context("fork")
    children, ends = [], []
    for first in range(min(processes, count)):
        here, there = context.Pipe(duplex=False)
        child = context.Process(
            target=_child, args=(work, range(first, count, processes), there, os.getpid()), daemon=True
        )
        child.start()
        there.close()
        children.append(child)
        ends.append(here)
    try:
        done = 0
        for number, result in _results(ends):
            done += 1
            yield number, result
        if done < count:
            raise ChildProcessError(
                f"{count - done} of {count} portions of the work were not done: a process was ended from "
                "outside, or no memory was left"
            )
    finally:
        for child in children:
            child.terminate()
            child.join()


def _child(work: Callable[[int], Any], numbers: Sequence[int], out: Connection, parent: int) -> None:
    """Work through ``numbers`` and send every result while ``parent`` lives, which alone answers to
    Ctrl-C."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    try:
        with heard_by(None):
            for number in numbers:
                if os.getppid() != parent:
                    os._exit(1)  # nobody is left to read the results
                out.send((number, work(number)))
    except Exception as error:
        out.send((-1, error))
    out.close()


def _results(ends: list[Connection]) -> Iterator[tuple[int, Any]]:
    while ends:
        for end in wait(ends):
            assert isinstance(end, Connection)
            try:
                number, result = end.recv()
            except (EOFError, OSError):  # it ended, or was killed while sending
                ends.remove(end)
                continue
            if number < 0:
                raise result
            yield number, result
