"""The whole way: from an empty list of jobs over every stage to a dossier in the hand, at a desk and on a tablet."""

from __future__ import annotations

import io
import re

import pytest
from playwright.sync_api import Browser, Page, expect
from pypdf import PdfReader

from tests.browser.conftest import DESKTOP, TABLET, Server, planned, visiting

expect.set_options(timeout=30_000)
LENGTHS = {"AB": "72", "BC": "48", "CD": "72", "AD": "48", "AC": "86 9/16", "BD": "86 9/16"}


def tape(page: Page) -> None:
    """Type each length that the page asks for until it asks for none."""
    order = page.locator("label.order")
    for _ in LENGTHS:
        said = order.inner_text()
        of = "".join(sorted(re.findall(r"\b[A-D]\b", said)[-2:]))
        entry = page.locator("#tape-entry")
        entry.fill(LENGTHS[of])
        entry.press("Enter")
        expect(order.filter(has_text=said)).to_have_count(0)
    expect(page.get_by_role("heading", name="All lengths that the plan needs are taken")).to_be_visible()


@pytest.mark.parametrize(("size", "touch"), [(DESKTOP, False), (TABLET, True)], ids=["desktop", "tablet"])
def test_from_an_empty_job_to_a_dossier(chromium: Browser, server: Server, size: dict[str, int], touch: bool) -> None:
    # An incomplete job is refused a plan with 422, which the browser writes on its console.
    with visiting(chromium, server, size, touch=touch, expected=("422",)) as (page, _):
        def press(name: str | re.Pattern[str]) -> None:
            button = page.get_by_role("button", name=name, exact=isinstance(name, str))
            if touch:
                button.tap()
            else:
                button.click()

        page.goto("/")
        page.get_by_label("Its name").fill("Elm Street")
        press("Rectangle")
        page.wait_for_url("**/measure")
        tape(page)
        press(re.compile("3 Room"))
        page.get_by_label("Shape").select_option("slope")
        page.get_by_label("Height", exact=True).fill("82")
        page.get_by_label("Fall", exact=True).fill("2 1/4")
        page.get_by_label("Lowest at the wall").select_option("A-B")
        page.get_by_role("link", name="Build", exact=True).click()
        press("tile over cement board")
        planned(page)
        assert page.get_by_role("img", name=re.compile("drawn to scale")).count() == 1
        page.get_by_role("link", name="Cover", exact=True).click()
        expect(page.locator("main h1").first).to_be_visible()
        page.get_by_role("link", name="Buy", exact=True).click()
        expect(page.get_by_role("row", name=re.compile("^sheet membrane"))).to_be_visible()
        page.get_by_role("link", name=re.compile("^Prove")).click()
        expect(page.get_by_role("heading", name=re.compile("lap-tight"))).to_be_visible()
        with page.expect_download() as coming:
            page.get_by_role("link", name="Dossier (PDF)").click()
        dossier = PdfReader(io.BytesIO(coming.value.path().read_bytes()))
    assert len(dossier.pages) > 3
    assert "Elm Street" in dossier.pages[0].extract_text()
