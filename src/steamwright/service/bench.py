"""One place at which plans are made: a worker process, and a second one that goes on while the first still stops."""

from __future__ import annotations

import multiprocessing
import time
from multiprocessing import connection
from multiprocessing.connection import Connection
from multiprocessing.context import SpawnProcess

from steamwright.service.making import Asked, Ended, Figures, Message, Stop, serve

_STOP_S = 3.0
_LOOK_S = 0.02
_SOON_S = 0.05


class Worker:
    """A process that plans, and the line to it."""

    def __init__(self) -> None:
        context = multiprocessing.get_context("spawn")
        ours, theirs = context.Pipe()
        self._connection: Connection = ours
        self._process: SpawnProcess = context.Process(target=serve, args=(theirs,), daemon=True)
        self._process.start()
        self._stopping = self._rests = False
        self._asked: list[str] = []
        theirs.close()

    def ask(self, asked: Asked) -> None:
        """Hand over what is to be made."""
        self._asked = [*self._asked[-1:], asked.key]
        self._connection.send(asked)

    def knows(self, key: str) -> bool:
        """Whether it was asked for a plan lately, and so still has it at hand."""
        return key in self._asked

    def hear(self, news: Connection) -> Message | None:
        """What the worker says next, or None if there are other news before; a worker that is gone raises ``EOFError``."""
        if self._connection not in connection.wait([self._connection, news]):
            return None
        message: Message = self._connection.recv()
        self._rests = isinstance(message, Figures)
        self._stopping = self._stopping and not isinstance(message, Ended)
        return message

    def stop(self) -> None:
        """Ask it to stop between two steps; a search answers with its best so far."""
        self._connection.send(Stop())
        self._stopping = True

    def free(self) -> bool:
        """Whether it can be asked for something: all that it still said of what was stopped is heard.

        One that only rests between plan and drawings stops at once, and is worth the moment that this takes.
        """
        while self._stopping and self._connection.poll(_SOON_S if self._rests else 0):
            self._stopping, self._rests = not isinstance(self._connection.recv(), Ended), False
        return not self._stopping and self._process.is_alive()

    def end(self) -> None:
        """End the process at once."""
        self._process.kill()
        self._process.join(10)
        self._connection.close()


class Bench:
    """The workers of one place.

    Parameters
    ----------
    most : int
        How many processes there are at most. One is at work; another one may still be stopping, since what it does cannot be
        broken off at any moment and a new process needs a second or two to begin.
    """

    def __init__(self, most: int) -> None:
        self._most = most
        self._workers: list[Worker] = []

    def warm(self) -> None:
        """Begin all processes."""
        while len(self._workers) < self._most:
            self._workers.append(Worker())

    def worker(self, before_key: str) -> Worker:
        """A worker that can be asked for something at once, or soon; the one that knows the earlier plan, if it is one of them."""
        until = time.monotonic() + _STOP_S
        while True:
            free = [w for w in list(self._workers) if self._is_free(w)]
            if free:
                return max(free, key=lambda w: w.knows(before_key))
            if len(self._workers) < self._most:
                self._workers.append(Worker())
            elif time.monotonic() > until:
                self.drop(self._workers[0])
            else:
                time.sleep(_LOOK_S)

    def drop(self, worker: Worker) -> None:
        """End a worker and forget it."""
        if worker in self._workers:
            self._workers.remove(worker)
            worker.end()

    def close(self) -> None:
        """End all workers."""
        for worker in list(self._workers):
            self.drop(worker)

    def _is_free(self, worker: Worker) -> bool:
        try:
            return worker.free()
        except (EOFError, OSError):
            self.drop(worker)
            return False
