"""The proof while a person moves a seam: answered by a process of its own, from the room and the pieces of a kept plan."""

from __future__ import annotations

import multiprocessing
import os
import signal
import threading
from collections import OrderedDict
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass

from steamwright.covering.ground import Terrain
from steamwright.covering.model import Piece, Proof
from steamwright.covering.proof import prove
from steamwright.covering.seams import Seam, find_seams, move_seam
from steamwright.errors import InputError
from steamwright.plan.job import Job
from steamwright.plan.reread import membrane_room, pieces_of
from steamwright.service.checking import catalog

_REMEMBERED = 8


@dataclass(frozen=True, slots=True)
class Judged:
    """The proof after seams were moved, with the pieces that changed; all seams where none was moved."""

    proof: Proof
    pieces: tuple[Piece, ...]
    held: tuple[str, ...]
    seams: tuple[Seam, ...]
    spare_m: float | None


@dataclass(frozen=True, slots=True)
class _Taken:
    """A plan taken up."""

    job: Job
    terrain: Terrain
    pieces: tuple[Piece, ...]
    seams: dict[str, Seam]


class Judging:
    """Answers questions about seams in one process of its own, so that no other request waits for it."""

    def __init__(self) -> None:
        self._pool: ProcessPoolExecutor | None = None
        self._lock = threading.Lock()

    def judge(self, key: str, job: Job, document: bytes, moves: Sequence[tuple[str, float]]) -> Judged:
        """Prove a covering with some seams moved.

        Parameters
        ----------
        key : str
            Names the plan.
        job : Job
            What it was made from.
        document : bytes
            Its plan.json.
        moves : sequence of (str, float)
            Ids of seams and how far each is moved. [m]

        Returns
        -------
        judged : Judged
            The proof and what changed.

        Raises
        ------
        InputError
            If a seam is not known.

        References
        ----------
        own derivation
        """
        for _ in range(2):
            pool = self._open()
            try:
                known = pool.submit(_answer, key, None, tuple(moves)).result()
                return known if known is not None else _there(pool.submit(_answer, key, (job, document), tuple(moves)).result())
            except BrokenProcessPool:
                self.close()
        raise InputError("the proof could not be made", path="moved", hint="try again")

    def close(self) -> None:
        """End the process."""
        with self._lock:
            pool, self._pool = self._pool, None
        if pool is not None:
            pool.shutdown(cancel_futures=True)

    def _open(self) -> ProcessPoolExecutor:
        with self._lock:
            if self._pool is None:
                self._pool = ProcessPoolExecutor(1, multiprocessing.get_context("spawn"), _begin)
            return self._pool


def _there(judged: Judged | None) -> Judged:
    assert judged is not None
    return judged


def _begin() -> None:
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # who started this process ends it
    threading.Thread(target=_end_with_the_server, daemon=True).start()


def _end_with_the_server() -> None:
    """A pool's process waits for work for ever, also from a server that was struck down."""
    server = multiprocessing.parent_process()
    if server is not None:
        server.join()
    os._exit(0)


_taken: OrderedDict[str, _Taken] = OrderedDict()


def _answer(key: str, plan: tuple[Job, bytes] | None, moves: tuple[tuple[str, float], ...]) -> Judged | None:
    """The answer; None if the plan has to be sent along."""
    if key not in _taken:
        if plan is None:
            return None
        _taken[key] = _take_up(*plan)
        while len(_taken) > _REMEMBERED:
            _taken.popitem(last=False)
    _taken.move_to_end(key)
    return _judged(_taken[key], moves)


def _take_up(job: Job, document: bytes) -> _Taken:
    terrain = Terrain(membrane_room(job, catalog()))
    pieces = pieces_of(document)
    planned_m = job.covering.lap_required_m + job.covering.allowance_m
    return _Taken(job, terrain, pieces, {s.id: s for s in find_seams(terrain, pieces, 2.0 * planned_m)})


def _judged(taken: _Taken, moves: tuple[tuple[str, float], ...]) -> Judged:
    wishes = taken.job.covering
    pieces, held = taken.pieces, list[str]()
    for seam, by_m in moves:
        if seam not in taken.seams:
            raise InputError(f"there is no {seam}", path="moved", hint="the plan has changed; look at it again")
        moved = move_seam(taken.terrain, pieces, taken.seams[seam], by_m, wishes.roll_width_m, wishes.longest_m)
        pieces, held = moved.pieces, [*held, *moved.held]
    proof = prove(taken.terrain.solid, pieces, wishes.lap_required_m, wishes.lap_required_m + wishes.allowance_m)
    changed = tuple(p for p, was in zip(pieces, taken.pieces, strict=True) if p is not was)
    spare_m = None if proof.least_lap_m is None else round(proof.least_lap_m - wishes.lap_required_m, 6)
    return Judged(proof, changed, tuple(held), () if moves else tuple(taken.seams.values()), spare_m)
