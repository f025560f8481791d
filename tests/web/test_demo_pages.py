"""Every page that can be reached by links in the filled demonstration opens, is sound HTML and claims nothing."""

from __future__ import annotations

import datetime
import re
from collections import Counter, deque
from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path
from urllib.parse import urljoin, urlsplit

import msgspec
import pytest
from fastapi.testclient import TestClient

from trug.demo import season
from trug.demo.scenario import scenario
from trug.records.database import Database
from trug.records.reasoning import Reasoner
from trug.web.app import create_app
from trug.web.packet_page import packet_html

#: One find of each kind of story.
STORIES = (
    "auricularia-auricula-judae",
    "kuehneromyces-mutabilis",
    "agaricus-campestris",
    "chroogomphus-rutilus",
    "phallus-impudicus",
    "clitocybe-nebularis",
    "entoloma-sinuatum",
    "agrocybe-praecox",
    "stereum-hirsutum",
    "",
)
#: No more pages are opened than this.
MOST_PAGES = 400
#: Of pages that are alike but for their subject, this many are opened.
MOST_ALIKE = 10
#: What one of many stands for in an address: an identifier, or the name of a taxon or a character.
ONE_OF_MANY = re.compile(
    r"[0-9a-f]{8}-[0-9a-f-]{27}|[0-9a-f]{64}|(?<=/look/)\w+|(?<=/book/)[\w-]+|(?<=/characters/)\w+"
)
#: HTML Living Standard, 13.1.2: elements without an end tag.
VOID = frozenset(["area", "base", "br", "col", "embed", "hr", "img", "input", "link", "meta", "source", "track", "wbr"])
#: HTML Living Standard, 13.1.2.4: end tags that may be left out.
MAY_STAY_OPEN = frozenset(["li", "dt", "dd", "p", "option", "tr", "td", "th", "thead", "tbody", "tfoot", "colgroup"])


class Page(HTMLParser):
    """Reads links and headings of a page, and whether its tags are balanced."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.links: list[str] = []
        self.headings = 0
        self.wrong: list[str] = []
        self._open: list[str] = []
        self.feed(text)
        self.close()
        self.wrong += [f"<{tag}> is never closed" for tag in self._open if tag not in MAY_STAY_OPEN]

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        names = [name for name, _ in attrs]
        if len(names) != len(set(names)):
            self.wrong.append(f"<{tag}> bears an attribute twice")
        self.headings += tag == "h1"
        self.links += [value for name, value in attrs if tag == "a" and name == "href" and value]
        if tag not in VOID:
            self._open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.handle_starttag(tag, attrs)
        if tag not in VOID:
            self._open.pop()

    def handle_endtag(self, tag: str) -> None:
        while self._open and self._open[-1] != tag and self._open[-1] in MAY_STAY_OPEN:
            self._open.pop()
        if not self._open or self._open[-1] != tag:
            self.wrong.append(f"</{tag}> closes nothing at {self.getpos()}")
        else:
            self._open.pop()


@pytest.fixture(scope="module")
def crawled(tmp_path_factory: pytest.TempPathFactory, reasoner: Reasoner) -> Iterator[dict[str, tuple[int, str, str]]]:
    """Return status, kind and text of every page that can be reached from the first one."""
    folder: Path = tmp_path_factory.mktemp("demonstration")
    database = Database.open(folder)
    whole = scenario()
    brief = msgspec.structs.replace(whole, finds=tuple(f for f in whole.finds if f.taxon in STORIES))
    vocabulary = reasoner.here.vocabulary
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(season, "scenario", lambda: brief)
        season.fill(
            database,
            reasoner,
            today=datetime.date(2026, 11, 20),
            render=lambda content, secret: packet_html(content, secret, vocabulary),
        )
    app = create_app(database)
    app.state.site.reasoner = reasoner
    with TestClient(app, base_url="http://127.0.0.1", raise_server_exceptions=False) as client:
        yield crawl(client)
    database.close()


def crawl(client: TestClient) -> dict[str, tuple[int, str, str]]:
    waiting, known = deque(["/"]), {"/"}
    pages: dict[str, tuple[int, str, str]] = {}
    alike: Counter[str] = Counter()
    while waiting and len(pages) < MOST_PAGES:
        path = waiting.popleft()
        group = ONE_OF_MANY.sub("*", path.partition("?")[0])
        alike[group] += 1
        if alike[group] > MOST_ALIKE:
            continue
        answer = client.get(path)
        kind = answer.headers.get("content-type", "").partition(";")[0]
        pages[path] = (answer.status_code, kind, answer.text if kind.startswith("text/") else "")
        if kind != "text/html":
            continue
        for link in Page(answer.text).links:
            to = urlsplit(urljoin(str(answer.url), link))
            where = to.path + (f"?{to.query}" if to.query else "")
            if to.netloc == "127.0.0.1" and where not in known:
                known.add(where)
                waiting.append(where)
    return pages


def test_every_link_leads_to_a_page(crawled: dict[str, tuple[int, str, str]]) -> None:
    assert len(crawled) > 50
    assert {path: status for path, (status, _, _) in crawled.items() if status != 200} == {}


def test_no_page_shows_a_trace_or_calls_anything_safe(crawled: dict[str, tuple[int, str, str]]) -> None:
    for path, (_, _, text) in crawled.items():
        for words in ("Traceback (most recent call last)", "safe to eat", "edible: yes", "{{", "{%"):
            assert words.lower() not in text.lower(), (path, words)


def test_every_page_has_one_heading_of_its_own(crawled: dict[str, tuple[int, str, str]]) -> None:
    headings = {path: Page(text).headings for path, (_, kind, text) in crawled.items() if kind == "text/html"}
    assert {path: n for path, n in headings.items() if n != 1} == {}


def test_the_tags_of_every_page_are_balanced(crawled: dict[str, tuple[int, str, str]]) -> None:
    wrong = {path: Page(text).wrong[:3] for path, (_, kind, text) in crawled.items() if kind == "text/html"}
    assert {path: found for path, found in wrong.items() if found} == {}
