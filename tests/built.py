"""Plans of jobs, each made once: a plan never changes, so that any number of tests can judge the same one."""

from __future__ import annotations

import json
import tomllib
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any

from steamwright.buildup.catalog import load_catalog
from steamwright.plan.build import build
from steamwright.plan.job import Job
from steamwright.plan.jobfile import read_job
from steamwright.plan.model import Plan

CATALOG = load_catalog()
EXAMPLES = Path(__file__).parents[1] / "examples"
SNIPPETS = Path(__file__).parents[1] / "docs" / "snippets"


def job_of(said: Mapping[str, Any]) -> Job:
    return Job.model_validate(said, context={"typed": True})


def planned(said: Mapping[str, Any]) -> Plan:
    """The plan of a job in its parsed form."""
    return _planned(json.dumps(said))


@cache
def _planned(said: str) -> Plan:
    return build(job_of(json.loads(said)), CATALOG)


@cache
def example(name: str) -> Plan:
    """The plan of an example."""
    return build(read_job((EXAMPLES / f"{name}.toml").read_text("utf-8"), CATALOG.materials), CATALOG)


def with_snippet(name: str) -> dict[str, Any]:
    """The first example with a snippet of the documentation put into it."""
    job = tomllib.loads((EXAMPLES / "home-alcove.toml").read_text("utf-8"))
    job["room"] |= tomllib.loads((SNIPPETS / f"{name}.toml").read_text("utf-8"))["room"]
    job["buildup"][0]["on"].append("openings")
    return job


def snippet(name: str) -> Plan:
    return planned(with_snippet(name))
