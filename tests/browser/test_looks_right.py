"""What is printed: finds, treatments and labels come onto paper whole, and labels in their size."""

from __future__ import annotations

import io
import math
import re
import unicodedata
from pathlib import Path

import pytest
from browsing import DESK, Visitor
from playwright.sync_api import Page
from pypdf import PdfReader
from visits import examples, filled

#: ISO 216: A4 is 210 by 297 mm. PDF measures in points of 1/72 inch, CSS in pixels of 1/96 inch.
A4_MM = (210.0, 297.0)
POINTS_PER_MM = 72 / 25.4
PIXELS_PER_MM = 96 / 25.4
#: An eighth of the sheet.
LABEL_MM = (105.0, 74.0)
LABELS_ON_A_SHEET = 8


@pytest.fixture(scope="module")
def ids(season: Path) -> dict[str, str]:
    return examples(season)


@pytest.fixture
def page(visitor: Visitor, season_app: str) -> Page:
    page = visitor.open(season_app, DESK)
    page.emulate_media(media="print")
    return page


def printed(page: Page) -> PdfReader:
    """Return what the page prints on A4, margins as the page's own style says, else 10 mm."""
    margin = dict.fromkeys(("top", "right", "bottom", "left"), "10mm")
    return PdfReader(io.BytesIO(page.pdf(format="A4", prefer_css_page_size=True, margin=margin)))


def words(text: str) -> list[str]:
    """Return the words of a text; what a line break may split is left out."""
    return re.findall(r"[A-Za-z]{3,}", text)


def letters(text: str) -> str:
    """Return the letters of a text, ligatures resolved: what a line break cannot change."""
    return re.sub(r"[^A-Za-z]", "", unicodedata.normalize("NFKC", text))


def cut_off(page: Page, within: str) -> list[str]:
    """Return what is larger than the frame that would cut it off."""
    found: list[str] = page.evaluate(
        """within => [...document.querySelectorAll(within + ', ' + within + ' *')]
          .filter(e => e.checkVisibility() && !e.closest('svg, .hidden, [hidden]'))
          .filter(e => { const s = getComputedStyle(e);
            return (s.overflowX !== 'visible' || s.overflowY !== 'visible')
              && (e.scrollWidth > e.clientWidth + 1 || e.scrollHeight > e.clientHeight + 1); })
          .map(e => e.outerHTML.slice(0, 160))""",
        within,
    )
    return found


@pytest.mark.parametrize(
    "kind", ["/finds/{find_id}", "/finds/{find_id}/ledger/{body}", "/book/{code}", "/determinations/{digest}", "/ill"]
)
def test_a_page_is_printed_whole(page: Page, ids: dict[str, str], kind: str) -> None:
    width = round((A4_MM[0] - 20) * PIXELS_PER_MM)
    page.set_viewport_size({"width": width, "height": 1000})
    page.goto(filled(kind, ids))
    shown = page.locator("main").inner_text()
    sheets = printed(page)

    for sheet in sheets.pages:
        size = (float(sheet.mediabox.width), float(sheet.mediabox.height))
        assert size == pytest.approx([mm * POINTS_PER_MM for mm in A4_MM], abs=1)
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert not cut_off(page, "main")
    on_paper = letters("".join(sheet.extract_text() for sheet in sheets.pages)).lower()
    missing = [w for w in set(words(shown)) if w.lower() not in on_paper]
    assert not missing, f"not on paper: {sorted(missing)[:20]}"
    assert "ifsomeoneisill" in on_paper


@pytest.mark.parametrize("exact", ["", "?exact=yes"], ids=["generalised", "exact"])
@pytest.mark.parametrize("which", ["find_id", "unnamed_id", "conflict_id", "longest_id"])
def test_labels_have_their_size_and_hold_all_that_stands_on_them(
    page: Page, ids: dict[str, str], which: str, exact: str
) -> None:
    page.goto(f"/finds/{ids[which]}/label{exact}")
    labels = page.locator(".voucher")
    sheets = printed(page)
    boxes = labels.evaluate_all("all => all.map(e => [e.offsetWidth, e.offsetHeight])")

    assert boxes
    for box in boxes:
        assert box == pytest.approx([mm * PIXELS_PER_MM for mm in LABEL_MM], abs=1)
    assert not cut_off(page, ".voucher")
    assert len(sheets.pages) == math.ceil(len(boxes) / LABELS_ON_A_SHEET)
    for sheet in sheets.pages:
        size = (float(sheet.mediabox.width), float(sheet.mediabox.height))
        assert size == pytest.approx([mm * POINTS_PER_MM for mm in A4_MM], abs=1)
    on_paper = letters("".join(sheet.extract_text() for sheet in sheets.pages))
    assert all(letters(text) in on_paper for text in labels.locator(".name i").all_inner_texts())
    assert "Skiptothepage" not in on_paper
    assert "Printat" not in on_paper


def test_buttons_and_forms_stay_off_the_paper(page: Page, ids: dict[str, str]) -> None:
    page.goto(filled("/finds/{find_id}", ids))

    assert page.locator("main button:visible, main form:visible, main input:visible").count() == 0
