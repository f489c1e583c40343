"""What a worker process does: plan a job and hand over each file as soon as it is made."""

from __future__ import annotations

import gc
import hashlib
import json
import os
import pickle
import signal
import sys
import zlib
from collections import OrderedDict
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from functools import cache
from importlib import import_module
from multiprocessing.connection import Connection
from pathlib import Path
from platform import machine
from typing import Any

from steamwright.covering.inputs import CoveringWishes
from steamwright.covering.model import SoFar
from steamwright.errors import InputError, Mistake, SteamwrightError
from steamwright.plan.job import Job
from steamwright.plan.model import Plan
from steamwright.plan.plain import content_hash
from steamwright.rules.load import rules_digest
from steamwright.service.checking import catalog, mistakes_of_error
from steamwright.service.laid import kept_covering
from steamwright.store.model import KeptLayout, KeptWeather

_BATCH = 6
_REST_S = 0.4
"""After an edit the next one may follow at once: drawings, which take longer than the plan, begin when none has come by then."""
_STEP_BACK = 10
"""How much less urgent drawings are than anybody's plan."""
SAID_DIGITS = 40
"""How much of a plan's key depends on the job and the program alone."""
# What every plan needs and this module imports late; a worker has time for it before it is asked.
_PARTS = ("steamwright.plan.build", "steamwright.drawing.render", "steamwright.exchange.spreadsheet", "steamwright.dossier.compile")


@dataclass(frozen=True, slots=True)
class Step:
    """A step has begun."""

    words: str


@dataclass(frozen=True, slots=True)
class Made:
    """Files are ready."""

    files: tuple[tuple[str, bytes], ...]


@dataclass(frozen=True, slots=True)
class Laid:
    """The room and its pieces as they will lie, not proven yet."""

    document: bytes


@dataclass(frozen=True, slots=True)
class Kept:
    """The plan as this program keeps it, to be handed back when the same room is planned again, and what it wishes of its covering."""

    plan: bytes
    wishes: str


@dataclass(frozen=True, slots=True)
class Figures:
    """The plan is there; its short account."""

    summary: dict[str, Any]


@dataclass(frozen=True, slots=True)
class Better:
    """A search has found something better."""

    so_far: SoFar


@dataclass(frozen=True, slots=True)
class Layouts:
    """Other layouts of a plan: told as JSON, those that a plan can be made from by the id that they are told under, and what was wished."""

    told: bytes
    kept: tuple[KeptLayout, ...]
    wishes: str


@dataclass(frozen=True, slots=True)
class Ended:
    """Nothing more will come; with mistakes or a reason it ended badly."""

    mistakes: tuple[Mistake, ...] = ()
    detail: str = ""


@dataclass(frozen=True, slots=True)
class Asked:
    """What a worker process is to make: the plan of a job, its build-ups compared over some years by the hour, or other layouts.

    ``before`` is an earlier plan of the room as it was `Kept`, which a late reading changes no more than it has to; ``layout`` is
    a layout found for it, which takes the place of the earlier one. Other layouts are looked for where ``search_times`` says how
    long, beside the plan whose plan.json is the ``document``. Hours are those of the ``weather``, where there is one.
    """

    job: Job
    key: str = ""
    compared_years: int | None = None
    before_key: str = ""
    before: bytes = b""
    layout: bytes = b""
    search_times: int = 0
    document: bytes = b""
    weather: KeptWeather | None = None


@dataclass(frozen=True, slots=True)
class Stop:
    """Nobody wants any more what is being made, heard between two steps; or a search shall end with its best so far."""


class _StoppedError(Exception):
    """What is being made was stopped."""


Message = Step | Laid | Made | Kept | Figures | Better | Layouts | Ended


def plan_key(job: Job, before: str = "") -> str:
    """Name the plan of a job by all that it is made from.

    Parameters
    ----------
    job : Job
        What a person says about one room.
    before : str
        Key of the earlier plan, or id of the found layout, whose covering is kept where it can be; empty where the room is laid
        out afresh.

    Returns
    -------
    key : str
        64 hexadecimal digits; the first 40 differ where job, catalog, rules, program or kind of machine do, the others where
        the earlier plan does.

    References
    ----------
    own derivation
    """
    same = content_hash([job.model_dump(mode="json"), catalog().digest, rules_digest(), program(), machine()])
    return same[:SAID_DIGITS] + content_hash([same, before])[SAID_DIGITS:] if before else same


@cache
def program() -> str:
    """Name the program by its own text, so that no plan of an older one is shown as new.

    Returns
    -------
    name : str
        64 hexadecimal digits.

    References
    ----------
    own derivation
    """
    digest = hashlib.sha256()
    root = Path(__file__).parents[1]
    for path in sorted(p for p in root.rglob("*") if p.suffix in (".py", ".yaml", ".toml", ".typ", ".csv")):
        digest.update(str(path.relative_to(root)).encode() + b"\0" + path.read_bytes() + b"\0")
    return digest.hexdigest()


def serve(connection: Connection) -> None:
    """Plan one job after another until nobody asks any more.

    Parameters
    ----------
    connection : Connection
        Jobs come in by it, messages go out.

    References
    ----------
    own derivation
    """
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # who started this process ends it
    try:
        catalog()
        for name in _PARTS:
            import_module(name)
        gc.collect()
        gc.freeze()  # the program itself is never garbage: to look through it now and then would hold up a plan
        while True:
            asked: Asked | Stop = connection.recv()
            if isinstance(asked, Asked):
                connection.send(_ended(asked, connection))
    except (EOFError, BrokenPipeError, ConnectionResetError):
        return


def _send(connection: Connection, message: Message) -> None:
    if connection.poll():
        raise _StoppedError
    connection.send(message)


def _rest(connection: Connection, for_s: float) -> None:
    if connection.poll(for_s):
        raise _StoppedError


def wishes_hash(wishes: CoveringWishes) -> str:
    """Name what a job wishes of its covering.

    Parameters
    ----------
    wishes : CoveringWishes
        What a person chooses.

    Returns
    -------
    name : str
        Equal where the same is wished.

    References
    ----------
    own derivation
    """
    return content_hash(wishes.model_dump(mode="json"))


def comparison_path(years: int, weather: str = "") -> str:
    """Name the file in which a comparison is kept beside the plan.

    Parameters
    ----------
    years : int
        Years of the hourly method; 0 leaves it out. [count]
    weather : str
        Hash of the file of hourly weather; empty for the climate of the job.

    Returns
    -------
    path : str
        Such as ``comparison-2.json``.

    References
    ----------
    own derivation
    """
    return f"comparison-{years}-{weather[:12]}.json" if weather else f"comparison-{years}.json"


def _ended(asked: Asked, connection: Connection) -> Ended:
    def send(message: Message) -> None:
        _send(connection, message)

    def tell(words: str) -> None:
        send(Step(words))

    try:
        if asked.search_times:
            for message in _searched(asked, connection):
                connection.send(message)
            return Ended()
        if asked.compared_years is not None:
            _send_all(_compared(asked.job, asked.compared_years, asked.weather, tell), send)
            return Ended()
        before = _HELD.get(asked.before_key) or (pickle.loads(asked.before) if asked.before else None)
        plan = _planned(asked, before, send, tell)
        if before is not None:
            _rest(connection, _REST_S)
        with ThreadPoolExecutor(1, initializer=_step_back) as aside:
            aside.submit(_send_all, _made_of(plan, tell), send).result()
    except _StoppedError:
        return Ended(detail="stopped")
    except InputError as wrong:
        return Ended(mistakes_of_error(wrong))
    except SteamwrightError as wrong:
        return Ended(detail=wrong.sentence())
    except (BrokenPipeError, ConnectionResetError):
        raise
    except Exception as wrong:  # whatever it is, the person is told and the next job is served
        return Ended(detail=f"a fault in the program: {type(wrong).__name__}: {wrong}")
    return Ended()


def _searched(asked: Asked, connection: Connection) -> Iterator[Message]:
    """Other layouts of a plan; a search that is stopped ends with what it has."""
    from steamwright.covering.alternatives import find_layouts
    from steamwright.plan.document import layouts_document
    from steamwright.plan.reread import laid_in, membrane_room

    job, mine, room = asked.job, laid_in(asked.document), membrane_room(asked.job, catalog())
    layouts = find_layouts(room, job.covering, catalog(), job.use.code, mine, asked.search_times,
                           lambda words: connection.send(Step(words)), lambda so_far: connection.send(Better(so_far)), connection.poll)
    kept, ids = list[KeptLayout](), list[str]()
    for alternative, covering in layouts:
        found = b"" if covering is None else pickle.dumps(covering)
        ids.append("" if covering is None else hashlib.sha256(found).hexdigest()[:32])
        if covering is not None:
            choose: dict[str, Any] = dict(alternative.choose)
            kept.append(KeptLayout(ids[-1], wishes_hash(job.covering.model_copy(update=choose)), found))
    told = json.dumps(layouts_document(layouts, ids), sort_keys=True, allow_nan=False).encode()
    yield Layouts(told, tuple(kept), wishes_hash(job.covering))


def _planned(asked: Asked, before: Plan | None, send: Callable[[Message], None], tell: Callable[[str], None]) -> Plan:
    """The plan, handed over before anything else is made of it."""
    from steamwright.plan.build import build
    from steamwright.plan.document import laid_json, plan_json
    from steamwright.plan.summary import plan_summary

    layout = kept_covering(asked.layout) if asked.layout else None
    plan = build(asked.job, catalog(), tell, before, layout=layout, cut=lambda room, pieces: send(Laid(laid_json(room, pieces))))
    send(Made((("plan.json", plan_json(plan)),)))
    _hold(asked.key, plan)
    send(Kept(pickle.dumps(plan), wishes_hash(asked.job.covering)))
    send(Figures(plan_summary(plan)))
    return plan


def _step_back() -> None:
    """Let whatever else wants the processor go first. Only Linux does this for one thread."""
    if sys.platform == "linux":
        os.nice(_STEP_BACK)


def _send_all(messages: Iterator[Message], send: Callable[[Message], None]) -> None:
    for message in messages:
        send(message)


def _made_of(plan: Plan, tell: Callable[[str], None]) -> Iterator[Message]:
    """Drawings, order and dossier."""
    tell("drawings")
    drawings: dict[str, bytes] = {}
    yield from _drawn(plan, drawings)
    tell("order")
    from steamwright.exchange.spreadsheet import order_xlsx
    from steamwright.exchange.tables import order_csv

    yield Made((("order.xlsx", order_xlsx(plan)), ("order.csv", order_csv(plan))))
    tell("dossier")
    from steamwright.dossier.compile import dossier_pdf

    yield Made((("dossier.pdf", dossier_pdf(plan, drawings)),))


# The last plans that this process made: the next one of the same room begins from one of them.
_HELD: OrderedDict[str, Plan] = OrderedDict()
_HELD_MOST = 4


def _hold(key: str, plan: Plan) -> None:
    _HELD[key] = plan
    while len(_HELD) > _HELD_MOST:
        _HELD.popitem(last=False)


def _compared(job: Job, years: int, weather: KeptWeather | None, tell: Callable[[str], None]) -> Iterator[Message]:
    from steamwright.plan.build import build
    from steamwright.plan.comparison import compare_plan, comparison_document
    from steamwright.vapor.weather_files import read_weather

    outside = None if weather is None else read_weather(zlib.decompress(weather.content).decode("utf-8"), weather.name)
    found = compare_plan(build(job, catalog(), tell), catalog(), years, outside, tell=tell)
    path = comparison_path(years, "" if weather is None else weather.digest)
    yield Made(((path, json.dumps(comparison_document(found), sort_keys=True, allow_nan=False).encode()),))


def _drawn(plan: Plan, drawings: dict[str, bytes]) -> Iterator[Made]:
    """The drawings in the order in which they are looked at, and all of them by path."""
    from steamwright.drawing.backends.dxf import dxf
    from steamwright.drawing.backends.gltf import glb
    from steamwright.drawing.backends.svg import svg
    from steamwright.drawing.digest import digest
    from steamwright.drawing.render import sheet_set

    arranged = digest(plan)
    yield _keep(drawings, [("room.glb", glb(arranged))])
    sheets = sheet_set(arranged)
    listed = [{"path": f"sheets/{s.name}.svg", "number": s.number, "title": s.title} for s in sheets]
    yield Made((("sheets.json", json.dumps(listed, ensure_ascii=False).encode()),))
    for i in range(0, len(sheets), _BATCH):
        yield _keep(drawings, [(f"sheets/{s.name}.svg", svg(s).encode()) for s in sheets[i : i + _BATCH]])
    yield _keep(drawings, [("room.dxf", dxf(arranged))])


def _keep(drawings: dict[str, bytes], files: list[tuple[str, bytes]]) -> Made:
    drawings.update(files)
    return Made(tuple(files))
