"""Make the pictures and the generated pages of the documentation from real output: ``make docs``."""

from __future__ import annotations

import inspect
import json
import types
import typing
from enum import Enum
from functools import cache
from io import StringIO
from pathlib import Path
from tempfile import TemporaryDirectory

from pydantic import BaseModel
from pydantic.fields import FieldInfo
from rich.console import Console

from steamwright.buildup.catalog import load_catalog
from steamwright.cli.screen import show_summary
from steamwright.drawing.digest import digest
from steamwright.drawing.render import sheet_files
from steamwright.plan.build import build
from steamwright.plan.job import Job
from steamwright.plan.jobfile import read_job
from steamwright.plan.model import Plan
from steamwright.plan.summary import plan_summary
from steamwright.rules.coverage import rules_page
from steamwright.rules.load import load_rules
from steamwright.units import format_slope, format_tape, format_temperature

DOCS = Path(__file__).resolve().parent
EXAMPLE = DOCS.parent / "examples" / "home-alcove.toml"
BESIDE_SHEETS = ("plan.json", "room.dxf", "room.glb", "order.xlsx", "order.csv", "dossier.pdf")
PICTURES = {"home-alcove-wall-c-d.svg": "wall-c-d", "home-alcove-room.svg": "room", "home-alcove-cut.svg": "cut-r1",
            "home-alcove-ceiling.svg": "-ceiling."}


@cache
def example() -> tuple[Plan, dict[str, bytes]]:
    """The first example, planned and drawn."""
    plan = build(read_job(EXAMPLE.read_text(encoding="utf-8")), load_catalog())
    return plan, sheet_files(digest(plan))


def pictures() -> None:
    """Sheets of the first example."""
    for name, part in PICTURES.items():
        sheet = next(data for path, data in sorted(example()[1].items()) if part in path)
        (DOCS / "images" / name).write_bytes(sheet)


def readme() -> str:
    """The README with what planning the first example prints today."""
    plan, sheets = example()
    console = Console(file=StringIO(), width=105, highlight=False)
    show_summary(console, plan_summary(plan))
    console.print(f"{len(sheets) + len(BESIDE_SHEETS)} files written to out")
    assert isinstance(console.file, StringIO)
    head, told, rest = (DOCS.parent / "README.md").read_text(encoding="utf-8").partition("`make plan` prints its summary:\n\n```\n")
    printed = "".join(f"{line.rstrip()}\n" for line in console.file.getvalue().splitlines())
    return head + told + printed + rest[rest.index("```\n"):]


def job_page() -> str:
    """All that a job file can say, table by table, from the models that read it."""
    lines = ["# The job file", "", "Made from the models that read it by `make docs`. Quantities stand in quotes with their unit.", ""]
    seen: set[type[BaseModel]] = set()

    def table(model: type[BaseModel], heading: str) -> None:
        if model in seen:
            return
        seen.add(model)
        lines.extend([f"## {heading}", "", *(inspect.getdoc(model) or "").splitlines(), ""])
        lines.extend(["| key | takes | if left out |", "| --- | --- | --- |"])
        inner: list[tuple[str, type[BaseModel], bool]] = []
        for name, field in model.model_fields.items():
            key = field.alias or name
            models, many = parts_of(field.annotation)
            lines.append(f"| `{key}` | {takes(field, models, many)} | {left_out(name, field)} |")
            inner += [(key, m, many) for m in models]
        lines.append("")
        for key, m, many in inner:
            base = heading.strip("[]` ") if heading != "Top" else ""
            path = f"{base}.{key}" if base else key
            table(m, f"`[[{path}]]`" if many else f"`[{path}]`")

    table(Job, "Top")
    lines.extend(["## Snippets", "", "Each takes the place of the same tables of `examples/home-alcove.toml`; a test builds them.", ""])
    for path in sorted((DOCS / "snippets").glob("*.toml")):
        lines.extend(["```toml", path.read_text(encoding="utf-8").rstrip(), "```", ""])
    return "\n".join(lines).rstrip() + "\n"


def parts_of(annotation: object) -> tuple[list[type[BaseModel]], bool]:
    """Models inside an annotation, and whether there may be several."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return [annotation], False
    origin = typing.get_origin(annotation)
    many = origin in (tuple, list, dict)
    found: list[type[BaseModel]] = []
    for a in typing.get_args(annotation):
        models, deeper = parts_of(a)
        found += models
        many = many or deeper
    return found, many


def takes(field: FieldInfo, models: list[type[BaseModel]], many: bool) -> str:
    """What may stand there, in words."""
    if models:
        return "tables, one a row" if many else "a table"
    return words(field.annotation, tuple(field.metadata)).replace("|", "or")


def words(annotation: object, metadata: tuple[object, ...] = ()) -> str:
    """An annotation in words."""
    origin, args = typing.get_origin(annotation), typing.get_args(annotation)
    if origin is typing.Annotated:
        return words(args[0], args[1:])
    if origin is typing.Literal:
        return ", ".join(f"`{a}`" for a in args)
    if origin in (typing.Union, types.UnionType):
        return " or ".join(dict.fromkeys(words(a, metadata) for a in args if a is not type(None)))
    if origin in (tuple, list):
        return "a list of " + " and ".join(dict.fromkeys(words(a) for a in args if a is not Ellipsis))
    if origin is dict:
        return f"a table of {words(args[1])}"
    if annotation is float and any(type(m).__name__ in ("BeforeValidator", "Quantity") or hasattr(m, "func") for m in metadata):
        return "a quantity with its unit"
    if isinstance(annotation, type) and issubclass(annotation, Enum):
        return ", ".join(f"`{a.value}`" for a in annotation)
    plain: dict[object, str] = {str: "text", float: "a number", int: "a whole number", bool: "true or false"}
    return plain.get(annotation, getattr(annotation, "__name__", "text"))


def left_out(name: str, field: FieldInfo) -> str:
    """What happens when a key is not there."""
    if field.is_required():
        return "has to be there"
    value = field.get_default(call_default_factory=True)
    if value is None or value in ((), "") or isinstance(value, BaseModel | dict):
        return ""
    if isinstance(value, float) and name.endswith("_m") and words(field.annotation, tuple(field.metadata)) == "a quantity with its unit":
        return f"{format_tape(value)} ({round(value * 1000, 1):g} mm)"
    if isinstance(value, float) and name.endswith("_k"):
        return format_temperature(value, "inch")
    if isinstance(value, float) and name in ("pitch", "slope", "sill_slope"):
        return format_slope(value, "inch")
    if isinstance(value, Enum):
        return f"`{value.value}`"
    return f"`{value}`" if isinstance(value, str) else f"{value}"


def catalog_page() -> str:
    """Materials by their names in a job file, and what can be ordered."""
    catalog = load_catalog()
    lines = ["# The catalog", "", "Made from the data by `make docs`. Generic materials; the first column is what a job file says.", "",
             "| material | what it is | role | thickness |", "| --- | --- | --- | --- |"]
    for m in catalog.materials.values():
        thickness = "to be said" if m.thickness_m is None else f"{m.thickness_m * 1000:.4g} mm"
        lines.append(f"| `{m.id}` | {m.name} | {m.role.value} | {thickness} |")
    lines += ["", "## What can be ordered", "", "| item | what it is | cut from or made of |", "| --- | --- | --- |"]
    rows = [(i.item, i.name, i.material) for i in catalog.sheets] + [(i.item, i.name, i.material) for i in catalog.bands]
    rows += [(i.item, i.name, i.material) for i in catalog.corner_pieces] + [(i.item, i.name, i.material) for i in catalog.collars]
    rows += [(i.item, i.name, i.material) for i in catalog.boards]
    lines += [f"| `{item}` | {name} | {material} |" for item, name, material in rows]
    return "\n".join(lines) + "\n"


def openapi_text() -> str:
    """The description of the web API, from which the types of the page are made."""
    from steamwright.service.desk import Desk
    from steamwright.web.app import make_app

    with TemporaryDirectory() as folder:
        desk = Desk(f"sqlite:///{folder}/kept.db")
        described = make_app(desk).openapi()
        desk.close()
    return json.dumps(described, indent=1, sort_keys=True, ensure_ascii=False) + "\n"


def pages() -> dict[Path, str]:
    """All generated pages by their path."""
    reference = DOCS / "reference"
    return {reference / "job.md": job_page(), reference / "catalog.md": catalog_page(), reference / "rules.md": rules_page(load_rules()),
            reference / "openapi.json": openapi_text()}


def main() -> None:
    """Write everything."""
    pictures()
    (DOCS.parent / "README.md").write_text(readme(), encoding="utf-8")
    for path, text in pages().items():
        path.write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main()
