"""What a person does most, by keyboard alone: record a look, sign, search the book; the focus is always seen."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from browsing import DESK, Visitor
from keys import standing_at, tab, tab_to
from playwright.sync_api import Page, expect
from visits import examples, filled


@pytest.fixture(scope="module")
def ids(season: Path) -> dict[str, str]:
    return examples(season)


@pytest.fixture
def page(visitor: Visitor, season_app: str) -> Page:
    return visitor.open(season_app, DESK)


def test_the_first_stop_leads_past_the_menu(page: Page) -> None:
    page.goto("/")
    stop = tab(page)
    assert stop is not None
    assert "Skip to the page" in stop.what
    page.keyboard.press("Enter")

    expect(page.locator("#main")).to_be_focused()

    tab(page)
    assert page.evaluate("document.getElementById('main').contains(document.activeElement)")


def test_a_look_is_recorded(page: Page, ids: dict[str, str]) -> None:
    page.goto(filled("/finds/{plain_id}/look/hymenophore?body={plain_body}", ids))
    tab_to(page, page.locator("form.lookform input[name=answer][value=gills]"))
    page.keyboard.press("Space")
    tab_to(page, page.locator("form.lookform input[name=sure]:checked"))
    page.keyboard.press("ArrowRight")
    expect(page.locator("form.lookform input[name=sure][value=fairly]")).to_be_checked()
    tab_to(page, page.get_by_role("button", name="Save this look"))
    page.keyboard.press("Enter")

    expect(page.locator("#said")).to_contain_text(re.compile("gills", re.IGNORECASE))
    expect(page.locator("#next")).to_be_focused()

    tab(page)
    in_question = "document.activeElement.closest('section')?.getAttribute('aria-labelledby') === 'next'"
    assert page.evaluate(in_question), "after a look the next stop is not in the next question"


def test_a_look_without_an_answer_says_so_where_one_stands(page: Page, ids: dict[str, str], visitor: Visitor) -> None:
    visitor.provoke(422)
    page.goto(filled("/finds/{plain_id}/look/cap_colour?body={plain_body}", ids))
    save = page.get_by_role("button", name="Save this look")
    save.focus()
    page.keyboard.press("Enter")

    expect(page.get_by_role("alert")).to_contain_text("choose what you see")
    expect(save).to_be_focused()


def test_a_name_is_signed(page: Page, ids: dict[str, str]) -> None:
    page.goto(filled("/finds/{proposed_id}/sign", ids))
    tab_to(page, page.locator(".names a").first)
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", name="2. The fruitbodies")).to_be_visible()
    box = page.locator("input[name=fruitbody]:enabled").first
    tab_to(page, box)
    if not box.is_checked():
        page.keyboard.press("Space")
    tab_to(page, page.get_by_role("checkbox", name="I hold the specimen in my hand"))
    page.keyboard.press("Space")
    tab_to(page, page.get_by_role("button", name=re.compile("^Sign ")))
    page.keyboard.press("Enter")

    expect(page.get_by_role("heading", name="What it rests on")).to_be_visible()
    expect(page).to_have_url(re.compile("/signatures/"))
    expect(page.locator("#main")).to_be_focused()


def test_the_book_is_searched(page: Page) -> None:
    page.goto("/book")
    tab_to(page, page.get_by_role("searchbox").first)
    page.keyboard.type("galerina marg")
    page.keyboard.press("Enter")
    expect(page).to_have_url(re.compile("q=galerina"))
    tab_to(page, page.locator("main a[href='/book/galerina-marginata']").first)
    page.keyboard.press("Enter")

    expect(page.get_by_role("heading", level=1)).to_contain_text("Galerina marginata")


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
@pytest.mark.parametrize("kind", ["/", "/finds/{find_id}", "/finds/{find_id}/sign", "/book", "/places/map", "/ill"])
def test_the_focus_is_seen_wherever_it_stands(page: Page, ids: dict[str, str], kind: str, dark: bool) -> None:
    page.emulate_media(color_scheme="dark" if dark else "light")
    page.goto(filled(kind, ids))
    stops = 0
    while stops < 45 and tab(page) is not None:
        stops += 1

    assert stops > 5
    assert standing_at(page) is None or stops == 45


def test_an_outline_that_is_missing_or_faint_is_found(page: Page) -> None:
    page.goto("/ill")
    tab(page)
    page.evaluate("document.querySelectorAll('a, button, summary').forEach(e => { e.style.outline = 'none' })")
    with pytest.raises(AssertionError, match="no outline"):
        tab(page)
    page.evaluate(
        "document.querySelectorAll('a, button, summary').forEach(e => { e.style.outline = '3px solid #f4f2e8' })"
    )
    with pytest.raises(AssertionError, match="too faint"):
        tab(page)
    page.evaluate("document.querySelectorAll('a, button, summary').forEach(e => { e.style.translate = '-200vw' })")
    with pytest.raises(AssertionError, match="out of sight"):
        tab(page)
