"""A person's way through one find: what she types, taps and reads, step by step.

The find is invented: the cluster on a fallen willow that ``trug example`` works through in the terminal.
"""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass, field
from importlib import resources
from typing import Any

from browsing import Screen, press
from playwright.sync_api import Locator, Page, expect

#: What the first observer sees by character: at the find as a whole, with it at fruitbody a, and at b alone.
_EXAMPLE = tomllib.loads((resources.files("trug.cli") / "cluster.toml").read_text("utf-8"))
WHOLE: dict[str, Any] = _EXAMPLE["seen"]
SEEN: dict[str, Any] = {**WHOLE, **_EXAMPLE["fruitbodies"][0]["seen"]}
SEEN_AT_B: dict[str, Any] = _EXAMPLE["fruitbodies"][1]["seen"]


@dataclass
class Walk:
    """One person with one device; every step leaves her on the page that the app chose."""

    page: Page
    screen: Screen
    find: str = ""
    asked: list[str] = field(default_factory=list)

    def button(self, name: str, within: Locator | None = None) -> Locator:
        """Return the button of a name."""
        return (within or self.page.locator("main")).get_by_role("button", name=name, exact=True)

    def follow(self, name: str | re.Pattern[str], within: Locator | None = None) -> None:
        """Follow a link by its words."""
        link = (within or self.page.locator("main")).get_by_role("link", name=name).first
        self.change(lambda: press(self.page, link))

    def send(self, button: Locator) -> None:
        """Press a button that sends a form, and wait for the answer, be it a new page or one put into this one."""
        self.change(lambda: press(self.page, button))

    def change(self, act: Any) -> None:
        """Do something after which the page shows something else; wait until it does."""
        self.page.locator("main > *").evaluate_all("all => all.forEach(e => e.setAttribute('data-before', ''))")
        act()
        self.page.locator("[data-before]").first.wait_for(state="detached")
        self.page.wait_for_load_state("load")

    def begin(self) -> None:
        """Say who she is and where she forages."""
        self.page.goto("/")
        expect(self.page).to_have_url(re.compile("/begin$"))
        self.page.get_by_role("textbox", name="Your name").fill("Ada Moss")
        press(self.page, self.page.locator("input[name=practice][value=practised]"))
        press(self.page, self.page.locator("input[name=region][value=europe-north]"))
        self.send(self.button("Begin"))

    def new_place(self, name: str) -> None:
        """Write down a place with its position."""
        self.page.goto("/places/new")
        self.page.get_by_role("textbox", name="Name").fill(name)
        self.page.get_by_role("textbox", name="Position").fill("55.6764, 12.5683")
        self.page.get_by_role("combobox", name="Region").select_option("europe-north")
        self.send(self.button("Save"))

    def new_find(self, place: str, fruitbodies: int) -> None:
        """Begin a find at a place."""
        self.page.goto("/")
        self.follow("Start the first find")
        self.page.get_by_role("combobox", name="Place", exact=True).select_option(label=place)
        self.page.get_by_label("How many fruitbodies will you look at?").fill(str(fruitbodies))
        press(self.page, self.page.locator("input[name=stage][value=prime]"))
        self.send(self.button("Record and look"))
        expect(self.page).to_have_url(re.compile("/finds/[0-9a-f-]{36}"))
        self.find = "/finds/" + re.findall("[0-9a-f-]{36}", self.page.url)[0]

    def bodies(self) -> list[str]:
        """Return the ids of the fruitbodies, in the order of the strip."""
        links = self.page.locator(".strip a").evaluate_all("all => all.map(a => a.getAttribute('href'))")
        return [re.findall("body=([0-9a-f-]{36})", link)[0] for link in links]

    def question(self) -> Locator:
        """Return the open question of the page."""
        return self.page.locator("form.lookform")

    def answer(self, *, sure: str = "sure", not_seen: str = "") -> str:
        """Answer the question that the page asks; returns its character. What she does not know she could not see."""
        form = self.question()
        code = form.locator("input[name=character]").get_attribute("value") or ""
        self.asked.append(code)
        if not_seen or code not in SEEN:
            press(self.page, form.get_by_text("I could not see it"))
            form.get_by_label("because").fill(not_seen or "the tool is not at hand")
            self.send(self.button("Save as not seen", form))
            return code
        told = fields_of(SEEN[code])
        if "value" in told:
            form.locator("input[name=value]").fill(told["value"])
        else:
            press(self.page, form.locator(f".choice:has(input[value='{told['answer']}'])"))
        press(self.page, form.locator(f"input[name=sure][value={sure}]"))
        self.send(self.button("Save this look", form))
        return code

    def look_quickly(self, seen: dict[str, Any], body: str) -> None:
        """Make the looks that are left through the app's own API."""
        for code, what in seen.items():
            told = what if isinstance(what, dict) else {"states": what}
            look = {"character": code, "evidence": told.get("value", told.get("states"))}
            look |= {} if code in WHOLE else {"fruitbody": body}
            look |= {"method": told["method"]} if "method" in told else {}
            answer = self.page.request.post(f"/api{self.find}/looks", data=look)
            assert answer.ok, f"{code}: {answer.status} {answer.text()}"

    def show(self, path: str = "") -> None:
        """Open a page of the find."""
        self.page.goto(self.find + path)

    def be(self, name: str) -> None:
        """Hand the device to a person."""
        self.page.goto("/people")
        self.send(self.button(f"I am {name} now"))

    def new_person(self, name: str, practice: str) -> None:
        """Add a person."""
        self.page.goto("/people/new")
        self.page.get_by_role("textbox", name="Name").fill(name)
        press(self.page, self.page.locator(f"input[name=practice][value={practice}]"))
        self.send(self.button("Save"))

    def sign(self, taxon: str, label: str) -> None:
        """Sign a name for one fruitbody, specimen in hand."""
        self.show("/sign")
        self.follow(re.compile(taxon), self.page.locator(".names"))
        box = self.page.get_by_role("checkbox", name=re.compile(f"^Fruitbody {label}"))
        if not box.is_checked():
            press(self.page, box)
        press(self.page, self.page.get_by_label("I hold the specimen in my hand"))
        self.send(self.page.get_by_role("button", name=f"Sign {taxon}"))


def fields_of(what: Any) -> dict[str, str]:
    """Return an answer of the example as the form takes it: a state to choose, or a size to write."""
    told = what if isinstance(what, dict) else {"states": [what]}
    if "value" in told:
        return {"value": str(told["value"])}
    text = str(told["states"][0])
    size = re.fullmatch(r"([0-9.]+) mm", text)
    return {"value": size[1]} if size else {"answer": text}
