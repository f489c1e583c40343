"""The base of everything that a person types."""

from __future__ import annotations

from pydantic import BaseModel, ConfigDict


class Said(BaseModel):
    """A part of a job file: unknown keys are mistakes, and what was said is never changed."""

    model_config = ConfigDict(extra="forbid", frozen=True, populate_by_name=True)
