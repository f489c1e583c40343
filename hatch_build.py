"""Puts the page into wheels and source archives, and the examples into wheels."""

from __future__ import annotations

import importlib.util
import os
from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface


class PageHook(BuildHookInterface):
    """Builds the page before files are gathered; an editable installation goes without."""

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        """Build the page if it is missing or stale."""
        if version == "editable":
            return
        if self.target_name == "wheel":
            build_data["force_include"][str(Path(self.root) / "examples")] = "steamwright/examples"
        if os.environ.get("STEAMWRIGHT_NO_PAGE") == "1":
            return
        spec = importlib.util.spec_from_file_location("make_page", Path(self.root) / "frontend" / "make_page.py")
        if spec is None or spec.loader is None:
            raise RuntimeError("frontend/make_page.py is missing")
        page = importlib.util.module_from_spec(spec)
        spec.loader.exec_module(page)
        page.build()
