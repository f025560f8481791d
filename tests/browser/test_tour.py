"""One find from the first look to the label, as a person makes it: on phone and desk, with scripts and without."""

from __future__ import annotations

import io
import os
import re
import zipfile
from pathlib import Path

import pytest
from browsing import DESK, PHONE, Screen, Visitor, press
from playwright.sync_api import Page, expect
from tour_pictures import Pictures
from walking import SEEN, SEEN_AT_B, Walk

from trug.demo.pictures import picture
from trug.determine.record import CAUTIONS, DANGER

#: Words that no page of this program says of a fungus.
NEVER_SAID = re.compile(r"\b(safe|safely|safety|harmless|edible|non-toxic|nontoxic|no danger)\b", re.IGNORECASE)
PLACE, LATITUDE = "River park", "55.6764"
VELVET = "Flammulina velutipes"


@pytest.fixture
def pictures(screen: Screen, javascript: bool) -> Pictures:
    """Takes the pictures for the docs where TRUG_TOUR names their folder, of the walks with scripts."""
    folder = os.environ.get("TRUG_TOUR")
    return Pictures(Path(folder) if folder and javascript else None, screen)


def mind(page: Page, *, cautions: bool = True) -> None:
    """Check what holds on every page: help is one touch away, the cautions stand, and nothing is called safe."""
    ill = page.get_by_role("banner").get_by_role("link", name="If someone is ill")
    expect(ill).to_be_visible()
    assert ill.get_attribute("href") == "/ill"
    text = page.locator("body").evaluate("e => e.textContent")
    said = NEVER_SAID.search(text)
    assert said is None, f"{page.url} says {text[max(0, said.start() - 60) : said.end() + 60]!r}"
    if cautions:
        assert all(c in text for c in (DANGER, *CAUTIONS)), f"{page.url} lacks cautions"


def tops(page: Page, *selectors: str) -> list[float]:
    """Return how far down the page each of these begins [px]."""
    return [page.locator(s).first.evaluate("e => e.getBoundingClientRect().top + scrollY") for s in selectors]


def still_open(page: Page) -> int:
    """Return how many that kill or do lasting damage the page says are open for the fruitbody it shows."""
    counts = page.locator(".tallies li").evaluate_all("all => all.map(e => e.textContent)")
    return sum(int(re.findall(r"\d+", t)[0]) for t in counts if "kills" in t or "lasting damage" in t)


@pytest.mark.parametrize("javascript", [True, False], ids=["scripts", "no-scripts"])
@pytest.mark.parametrize("screen", [PHONE, DESK], ids=lambda s: s.name)
def test_a_find_is_followed_from_the_first_look_to_the_label(
    visitor: Visitor, empty_app: str, screen: Screen, javascript: bool, pictures: Pictures, tmp_path: Path
) -> None:
    page = visitor.open(empty_app, screen, javascript=javascript, **pictures.options())
    walk = Walk(page, screen)
    _begin(walk, pictures)
    a, b = walk.bodies()
    _look_at_a(walk, a, pictures)
    _photo_and_print(walk, a, tmp_path, pictures)
    _look_at_b(walk, b, pictures)
    _blind_observer(walk, a, pictures)
    _sign_twice(walk, pictures)
    _label(walk, pictures)
    _expert(walk, pictures)
    _kitchen(walk, pictures)
    _if_someone_is_ill(walk, pictures)


def _begin(walk: Walk, pictures: Pictures) -> None:
    page = walk.page
    page.goto("/")
    expect(page).to_have_url(re.compile("/begin$"))
    mind(page)
    pictures.take(page, "begin", on=PHONE)
    walk.begin()
    mind(page)
    walk.new_place(PLACE)
    mind(page)
    walk.new_find(PLACE, 2)
    mind(page)


def _look_at_a(walk: Walk, body: str, pictures: Pictures) -> None:
    """Twelve questions as she would answer them: mostly sure, once only fairly, once not seen; the others quickly."""
    page = walk.page
    expect(page.get_by_role("heading", name="Look next", exact=True)).to_be_visible()
    for n in range(12):
        if n == 1:
            pictures.take(page, "a-question", on=PHONE, at="#next")
        walk.answer(sure="fairly" if n == 3 else "sure", not_seen="too dark" if n == 5 else "")
        mind(page)
    assert len(set(walk.asked)) == 12, f"a question came twice: {walk.asked}"
    assert still_open(page) > 0
    ledger, question, made, names = tops(page, "#ledger", "#next", "#made", "#names")
    assert max(ledger, question) < made < names
    expect(page.get_by_text("too dark")).to_be_visible()
    pictures.take(page, "ledger-with-much-open", at="#ledger")
    walk.look_quickly({k: v for k, v in SEEN.items() if k != "spore_print"}, body)
    walk.show(f"?body={body}")
    assert still_open(page) > 0, "something that kills was ruled out for good without a spore print"


def _photo_and_print(walk: Walk, body: str, folder: Path, pictures: Pictures) -> None:
    page = walk.page
    walk.follow("Add or describe photos")
    shot = folder / "habit.jpg"
    colours = {k: str(v) for k, v in SEEN.items() if k in ("cap_shape", "cap_colour", "stipe_colour", "growth_manner")}
    shot.write_bytes(picture(colours, 1, position=(55.67641, 12.56832)))
    page.locator("input[type=file][multiple]").set_input_files(shot)
    page.get_by_role("textbox", name="Caption").first.fill("on the fallen willow")
    walk.send(walk.button("Keep them"))
    expect(page.get_by_role("img", name="on the fallen willow")).to_be_visible()
    mind(page)
    walk.show(f"/prints?body={body}")
    walk.send(walk.button("Save"))
    expect(page.get_by_text("laid, not read yet")).to_be_visible()
    mind(page)
    walk.show(f"/prints?body={body}")
    card = page.locator("section.card", has_text="Print of fruitbody a")
    press(page, card.locator(".choice:has(input[name=colour][value=white])"))
    card.get_by_role("textbox", name="Where it is kept").fill("tin 3")
    pictures.take(page, "spore-print", on=PHONE)
    walk.send(walk.button("Save", card))
    mind(page)
    expect(page.get_by_text("tin 3")).to_be_visible()
    expect(page.locator(".best")).to_contain_text("No listed harmful taxon left open")
    assert still_open(page) == 0
    expect(page.locator(".best")).to_contain_text(DANGER)
    walk.follow("The whole ledger with every look and source")
    mind(page)
    for name in ("Galerina marginata", "Hypholoma fasciculare"):
        expect(page.locator(".ruledline", has_text=name).first).to_contain_text("its account says")
    walk.show(f"?body={body}")
    press(page, page.locator("#ruled > summary"))
    pictures.take(page, "ruled-out-and-by-what", on=PHONE, at="#ruled")
    ledger, names = tops(page, "#ledger", "#names")
    assert ledger < names
    expect(page.locator("#names ~ p b").first).to_contain_text(VELVET)
    pictures.take(page, "names-below-the-ledger", on=PHONE, at="#names")


def _look_at_b(walk: Walk, body: str, pictures: Pictures) -> None:
    page = walk.page
    press(page, page.locator(f".strip a[href*='{body}']"))
    expect(page.locator("#ledger")).to_contain_text("fruitbody b")
    walk.answer()
    walk.look_quickly(SEEN_AT_B, body)
    walk.show(f"?body={body}")
    assert still_open(page) > 0, "b was not printed, so it keeps what kills open"
    mind(page)
    pictures.take(page, "each-fruitbody-has-its-own-ledger", on=DESK)


def _blind_observer(walk: Walk, body: str, pictures: Pictures) -> None:
    page = walk.page
    walk.new_person("Cleo Reed", "student")
    walk.show("/blind")
    press(page, page.get_by_label("Cleo Reed"))
    walk.send(walk.button("Begin"))
    for n in range(3):
        mind(page, cautions=False)
        text = page.locator("body").inner_text()
        assert VELVET not in text
        assert "fairly" not in text or "How sure" in text
        if n == 1:
            pictures.take(page, "second-observer-sees-no-answer", on=PHONE)
        body_label, code = (page.locator("input[name=asked]").get_attribute("value") or "").split(".")
        seen = SEEN_AT_B if body_label == "b" else SEEN
        if code in seen and isinstance(seen[code], str):
            press(page, page.locator(f".choice:has(input[value='{seen[code]}'])"))
            walk.send(walk.button("Write it down"))
        else:
            walk.send(walk.button("Pass it over"))
    walk.send(page.get_by_role("button", name=re.compile("^End here")))
    expect(page.get_by_role("heading", name="Side by side with Cleo Reed")).to_be_visible()
    expect(page.get_by_text("No answer contradicts a first one.")).to_be_visible()
    mind(page)


def _sign_twice(walk: Walk, pictures: Pictures) -> None:
    page = walk.page
    walk.show("/sign")
    mind(page)
    walk.follow(re.compile(VELVET), page.locator(".names"))
    expect(page.get_by_text("A second signer is needed")).to_be_visible()
    pictures.take(page, "sign-with-the-specimen-in-hand", on=PHONE)
    walk.sign(VELVET, "a")
    expect(page.get_by_role("heading", name="Waits for a second signer")).to_be_visible()
    mind(page)
    walk.new_person("Bo Fern", "practised")
    walk.be("Bo Fern")
    walk.sign(VELVET, "a")
    expect(page.locator(".standing-signed")).to_be_visible()
    mind(page)
    walk.show()
    expect(page.locator("h1")).to_contain_text(VELVET)
    expect(page.locator(".meta .standing")).to_have_text("signed")
    pictures.take(page, "signed", on=PHONE, dark=True)


def _label(walk: Walk, pictures: Pictures) -> None:
    page = walk.page
    walk.show("/label")
    mind(page, cautions=False)
    page.get_by_role("textbox", name=re.compile("[Ff]ungarium")).fill("MOSS-17")
    walk.send(walk.button("Write it on the labels"))
    page.emulate_media(media="print")
    labels = page.locator(".voucher")
    expect(labels).to_have_count(2)
    for words in (VELVET, "Ada Moss, Bo Fern", "MOSS-17", PLACE, "white"):
        expect(labels.first).to_contain_text(words)
    assert LATITUDE not in labels.first.inner_text()
    pictures.take(page, "voucher-label", on=DESK)
    page.emulate_media(media="screen")


def _expert(walk: Walk, pictures: Pictures) -> None:
    page = walk.page
    walk.show("/expert")
    mind(page)
    walk.send(walk.button("Make the packet"))
    pictures.take(page, "ask-an-expert", on=DESK)
    with page.expect_download() as download:
        press(page, page.get_by_role("link", name="Download the packet"))
    with zipfile.ZipFile(io.BytesIO(Path(download.value.path()).read_bytes())) as packet:
        names = packet.namelist()
        held = b"".join(packet.read(n) for n in names if not n.endswith(".jpg"))
        assert any(n.endswith((".jpg", ".jpeg")) for n in names), names
    for needed in ("packet.html", "find.json", "reply.toml"):
        assert any(n.endswith(needed) for n in names), names
    for hidden in (LATITUDE, "12.5683", "Ada Moss", "Bo Fern", "on the fallen willow"):
        assert hidden.encode() not in held, f"the packet gives away {hidden}"


def _kitchen(walk: Walk, pictures: Pictures) -> None:
    page = walk.page
    walk.show("/kitchen")
    mind(page)
    expect(page.locator("input[name=fruitbody]")).to_have_count(1)
    expect(page.locator("section.card", has_text="Fruitbody a")).to_contain_text("cook through")
    refused = page.locator("section.card", has_text="Fruitbody b")
    expect(refused).to_contain_text("Refused.")
    expect(refused).to_contain_text("No person has signed a name for it")
    expect(refused).to_contain_text("that kill or do lasting damage")
    pictures.take(page, "kitchen-refuses-what-is-open", on=PHONE, at="section.card + section.card")


def _if_someone_is_ill(walk: Walk, pictures: Pictures) -> None:
    page = walk.page
    walk.change(lambda: press(page, page.get_by_role("link", name="If someone is ill")))
    expect(page).to_have_url(re.compile("/ill$"))
    expect(page.locator("a[href^='tel:']").first).to_be_visible()
    mind(page)
    pictures.take(page, "if-someone-is-ill", on=PHONE)
    page.goto("/")
    pictures.take(page, "finds", on=DESK, dark=True)
