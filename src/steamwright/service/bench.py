"""One place at which plans are made: a worker process, and a second one that goes on while the first still stops."""

from __future__ import annotations

import multiprocessing
import time
from multiprocessing.connection import Connection
from multiprocessing.context import SpawnProcess

from steamwright.service.making import Asked, Ended, Message, Stop, serve

_STOP_S = 3.0
_LOOK_S = 0.02


class Worker:
    """A process that plans, and the line to it."""

    def __init__(self) -> None:
        context = multiprocessing.get_context("spawn")
        ours, theirs = context.Pipe()
        self._connection: Connection = ours
        self._process: SpawnProcess = context.Process(target=serve, args=(theirs,), daemon=True)
        self._process.start()
        self._stopping = False
        theirs.close()

    def ask(self, asked: Asked) -> None:
        """Hand over what is to be made."""
        self._connection.send(asked)

    def hear(self, patience_s: float) -> Message | None:
        """What the worker says within a time, or None; a worker that is gone raises ``EOFError``."""
        if not self._connection.poll(patience_s):
            if not self._process.is_alive():
                raise EOFError
            return None
        message: Message = self._connection.recv()
        return message

    def stop(self) -> None:
        """Ask it to stop between two steps."""
        self._connection.send(Stop())
        self._stopping = True

    def free(self) -> bool:
        """Whether it can be asked for something: all that it still said of what was stopped is heard."""
        while self._stopping and self._connection.poll():
            self._stopping = not isinstance(self._connection.recv(), Ended)
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

    def worker(self) -> Worker:
        """A worker that can be asked for something at once, or soon."""
        until = time.monotonic() + _STOP_S
        while True:
            free = next((w for w in self._workers if self._is_free(w)), None)
            if free is not None:
                return free
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
