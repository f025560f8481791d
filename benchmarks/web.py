"""Time records and web app at growing sizes of the database and write build/web.json.

Every figure stands beside a peer or a limit measured in the same run: an empty page of the same server for pages,
bare rows written by SQLite itself for imports. Run with ``make bench``; ``--quick`` stops at 10,000 finds.
"""

from __future__ import annotations

import asyncio
import csv
import datetime
import json
import os
import random
import re
import shutil
import sqlite3
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Any

import httpx2

from trug.demo.season import fill
from trug.loaded import loaded
from trug.place import Position
from trug.records.database import DATABASE_FILE, Database
from trug.records.exchange import Dataset, Occurrence, read_archive, release_occurrence, write_archive
from trug.records.inward import import_occurrences
from trug.records.reasoning import Reasoner

BUILD = Path(__file__).parent.parent / "build"
SIZES = (100, 1_000, 10_000, 100_000)
#: Requests of each kind, one after another.
REQUESTS = 100
#: People at once, how long they think between two requests [s], and how long they go on [s].
USERS, THINKING_S, GOING_ON_S = 20, 1.0, 30.0
PAGE_BAR_MS, CROWD_BAR_MS, LOOK_BAR_MS, IMPORT_BAR, MEMORY_BAR_MIB = 50.0, 250.0, 100.0, 5_000.0, 300.0


def record(name: str, value: float, unit: str, bar: str, holds: bool | None, n: int, peer: str) -> dict[str, Any]:
    """Return one line of the report."""
    return {"name": name, "value": value, "unit": unit, "bar": bar, "holds": holds, "peer": peer, "n": n}


def invented(count: int, rng: random.Random) -> Iterator[Occurrence]:
    """Yield invented occurrences."""
    names = [t.name for t in loaded().book.treatments.values()]
    first = datetime.date(2010, 1, 1)
    for n in range(count):
        found = Occurrence(
            occurrence_id=f"urn:invented:{count}:{n}",
            basis_of_record="HumanObservation",
            event_date=(first + datetime.timedelta(days=rng.randrange(5_800))).isoformat(),
            recorded_by=f"Person {rng.randrange(40)}",
            scientific_name=rng.choice(names),
            locality=f"invented wood {rng.randrange(400)}",
            occurrence_remarks="invented for a measurement, among leaves beside the path",
            position=Position(rng.uniform(45, 60), rng.uniform(-5, 25), 10.0),
        )
        yield release_occurrence(found)


def bare_rows(path: Path, archive: Path) -> float:
    """Return how many rows a second the same table goes into SQLite with nothing else done: the limit of an import."""
    import io
    import zipfile

    with zipfile.ZipFile(archive) as z, z.open("occurrence.txt") as raw:
        text = io.TextIOWrapper(raw, "utf-8", newline="")
        start = time.perf_counter()
        rows = list(csv.reader(text))
        with closing(sqlite3.connect(path)) as database:
            database.execute("PRAGMA journal_mode = WAL")
            columns = ", ".join(f"c{n}" for n in range(len(rows[0])))
            database.execute(f"create table bare ({columns})")
            database.executemany(f"insert into bare values ({', '.join('?' * len(rows[0]))})", rows[1:])
            database.commit()
        return (len(rows) - 1) / (time.perf_counter() - start)


@contextmanager
def served(folder: Path) -> Iterator[tuple[str, int]]:
    """Run the app as a process of its own; give its address and process id."""
    command = [sys.executable, "-m", "trug", "serve", "--no-browser", "--port", "0", "--data", str(folder)]
    environment = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"} | {"PYTHONUNBUFFERED": "1"}
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=environment) as process:
        try:
            assert process.stdout is not None
            address = re.search(r"http://127\.0\.0\.1:\d+", process.stdout.readline())
            assert address is not None
            for _ in range(100):
                try:
                    httpx2.get(f"{address[0]}/static/trug.svg", timeout=5)
                    break
                except httpx2.TransportError:
                    time.sleep(0.1)
            yield address[0], process.pid
        finally:
            process.terminate()
            process.wait(20)


def memory_mib(pid: int, line: str = "VmHWM") -> float:
    """Return the memory of a process [MiB]: the most it ever held, or ``VmRSS`` for now."""
    text = Path(f"/proc/{pid}/status").read_text()
    found = re.search(rf"{line}:\s+(\d+) kB", text)
    return int(found[1]) / 1024 if found else float("nan")


def timed(client: httpx2.Client, addresses: list[str]) -> list[float]:
    """Return the time of each request [ms]; every one must succeed."""
    times = []
    for address in addresses:
        start = time.perf_counter()
        answer = client.get(address)
        times.append(1e3 * (time.perf_counter() - start))
        assert answer.status_code == 200, f"{address}: {answer.status_code}"
    return times


def with_looks(folder: Path) -> list[tuple[str, str]]:
    """Return find and fruitbody of every fruitbody that was looked at."""
    with closing(sqlite3.connect(folder / DATABASE_FILE)) as database:
        return database.execute(
            "select distinct l.find_id, l.fruitbody_id from looks l join finds f on f.id = l.find_id "
            "join fruitbodies b on b.id = l.fruitbody_id "
            "where f.deleted_at is null and b.deleted_at is null order by 1, 2"
        ).fetchall()


def token_of(client: httpx2.Client, page: str) -> str:
    """Return the token of the forms on a page."""
    found = re.search(r'name="csrf" value="([^"]+)"', client.get(page).text)
    assert found is not None
    return found[1]


def look(client: httpx2.Client, token: str, find: str, body: str, n: int) -> tuple[str, dict[str, str]]:
    """Return address and form of a look at the cap colour."""
    colours = ("honey-brown", "buff", "tan", "cream", "brown")
    form = {"csrf": token, "body": body, "character": "cap_colour", "answer": colours[n % 5], "sure": "fairly"}
    return f"/finds/{find}/looks", form


def one_after_another(address: str, folder: Path) -> dict[str, float]:
    """Return the median time of each kind of page, and of saving a look, one request after another [ms]."""
    looked = with_looks(folder)
    random.Random(3).shuffle(looked)
    words = ["morchella", "velvet shank", "2015", "wood 77", "no such words", "person 12", "amanita", "path"]
    out = {}
    with httpx2.Client(base_url=address, follow_redirects=True, timeout=30) as client:
        client.get("/")
        out["empty"] = statistics.median(timed(client, ["/static/trug.svg"] * REQUESTS))
        out["list"] = statistics.median(timed(client, ["/finds"] * REQUESTS))
        out["search"] = statistics.median(timed(client, [f"/finds?q={w}" for w in words] * (REQUESTS // len(words))))
        fresh = [f"/finds/{find}?body={body}" for find, body in looked[:REQUESTS]]
        out["find"] = statistics.median(timed(client, fresh))
        token = token_of(client, fresh[0])
        times = []
        for n, (find, body) in enumerate(looked[:REQUESTS]):
            to, form = look(client, token, find, body, n)
            start = time.perf_counter()
            answer = client.post(to, data=form)
            times.append(1e3 * (time.perf_counter() - start))
            assert answer.status_code == 200, answer.text[:300]
        out["look"] = statistics.median(times)
    return out


async def crowd(address: str, folder: Path) -> tuple[list[float], int]:
    """Return the times of all requests [ms] and the number of errors, of people who work at once and think between."""
    looked = with_looks(folder)
    end = time.perf_counter() + GOING_ON_S
    times: list[float] = []
    errors = 0

    async def user(n: int) -> None:
        nonlocal errors
        rng = random.Random(n)
        async with httpx2.AsyncClient(base_url=address, follow_redirects=True, timeout=30) as client:
            await asyncio.sleep(rng.random() * THINKING_S)
            first = await client.get(f"/finds/{looked[n % len(looked)][0]}")
            found = re.search(r'name="csrf" value="([^"]+)"', first.text)
            assert found is not None
            while time.perf_counter() < end:
                find, body = rng.choice(looked)
                kind = rng.random()
                start = time.perf_counter()
                if kind < 0.25:
                    answer = await client.get("/finds")
                elif kind < 0.4:
                    answer = await client.get("/finds?q=amanita")
                elif kind < 0.75:
                    answer = await client.get(f"/finds/{find}?body={body}")
                else:
                    to, form = look(client, found[1], find, body, rng.randrange(5))  # type: ignore[arg-type]
                    answer = await client.post(to, data=form)
                times.append(1e3 * (time.perf_counter() - start))
                errors += answer.status_code != 200
                await asyncio.sleep(THINKING_S)

    await asyncio.gather(*(user(n) for n in range(USERS)))
    return times, errors


def measure(size: int, season: Path, folder: Path, reasoner: Reasoner) -> dict[str, Any]:
    """Fill a copy of the invented season to a size and measure everything there."""
    shutil.copytree(season, folder)
    database = Database.open(folder)
    archive = folder.parent / f"{size}.zip"
    write_archive(archive, invented(size, random.Random(size)), dataset=Dataset("invented", "nobody", "2026-01-01"))
    bad: list[Any] = []
    start = time.perf_counter()
    done = import_occurrences(database, reasoner, read_archive(archive, on_bad=bad.append), None)
    rate = size / (time.perf_counter() - start)
    assert done.finds == size, done.problems[:3]
    assert bad == []
    database.close()
    limit = bare_rows(folder.parent / f"{size}.sqlite3", archive)
    with served(folder) as (address, pid):
        pages = one_after_another(address, folder)
        now = memory_mib(pid, "VmRSS")
        times, errors = asyncio.run(crowd(address, folder)) if size == max(SIZES) else ([], 0)
        # The pages that need most memory, once each, so that the figure below is of all that the app holds.
        with httpx2.Client(base_url=address, follow_redirects=True, timeout=60) as client:
            timed(client, ["/compare?with=flammulina-velutipes", "/book/amanita-phalloides", "/places/map"])
        most = memory_mib(pid)
    return {
        "size": size,
        "import": rate,
        "bare": limit,
        **pages,
        "memory": most,
        "memory_now": now,
        "crowd": sorted(times),
        "errors": errors,
        "file_mb": (folder / DATABASE_FILE).stat().st_size / 1e6,
    }


def report(found: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Return the lines of the report, for the largest database."""
    most = found[-1]
    size = most["size"]
    empty = f"a static file of the same server {most['empty']:.1f} ms"
    out = []
    for kind, what in (("list", "list of finds"), ("search", "search"), ("find", "one find page, not seen before")):
        ms = most[kind]
        out.append(
            record(
                f"{what}, {size:,} finds", ms, "ms (median)", f"< {PAGE_BAR_MS:g}", ms < PAGE_BAR_MS, REQUESTS, empty
            )
        )
    ms = most["look"]
    out.append(
        record(
            f"a look saved and its page shown anew, {size:,} finds", ms, "ms (median)", f"< {LOOK_BAR_MS:g}",
            ms < LOOK_BAR_MS, REQUESTS, empty,
        )
    )  # fmt: skip
    if most["crowd"]:
        p95 = most["crowd"][int(0.95 * len(most["crowd"]))]
        name = f"{USERS} people, {THINKING_S:g} s of thinking, {most['errors']} errors"
        holds = p95 < CROWD_BAR_MS and most["errors"] == 0
        out.append(
            record(name, p95, "ms (95th percentile)", f"< {CROWD_BAR_MS:g}, no error", holds, len(most["crowd"]),
                   f"median {statistics.median(most['crowd']):.0f} ms")
        )  # fmt: skip
    ratio = f"the bare table into SQLite {most['bare']:,.0f} rows/s ({most['bare'] / most['import']:.1f} times)"
    holds = most["import"] >= IMPORT_BAR
    out.append(
        record("import of a Darwin Core Archive", most["import"], "rows/s", f">= {IMPORT_BAR:,.0f}", holds, size, ratio)
    )
    memory = most["memory"]
    holds = memory < MEMORY_BAR_MIB
    out.append(
        record("memory of the app, most ever held", memory, "MiB", f"< {MEMORY_BAR_MIB:g}", holds, size,
               f"the database file {most['file_mb']:,.0f} MB")
    )  # fmt: skip
    return out


def main() -> None:
    """Measure at every size, print and write the report."""
    from rich.console import Console
    from rich.table import Table as Grid

    sizes = SIZES[:-1] if "--quick" in sys.argv[1:] else SIZES
    reasoner = Reasoner(loaded())
    found = []
    console = Console(width=140)
    with tempfile.TemporaryDirectory() as home:
        season = Path(home) / "season"
        database = Database.open(season)
        fill(database, reasoner, today=datetime.date(2026, 11, 25))
        database.close()
        for size in sizes:
            console.print(f"a database of {size:,} finds ...")
            with tempfile.TemporaryDirectory() as folder:
                found.append(measure(size, season, Path(folder) / "records", reasoner))
    lines = report(found)
    grid = Grid(box=None, padding=(0, 2, 0, 0))
    for title in ("measure", "value", "bar", "holds", "beside"):
        grid.add_column(title)
    for r in lines:
        holds = "" if r["holds"] is None else "yes" if r["holds"] else "NO"
        grid.add_row(r["name"], f"{r['value']:,.1f} {r['unit']}", r["bar"], holds, r["peer"])
    console.print(grid)
    BUILD.mkdir(exist_ok=True)
    sizes_told = [{k: v for k, v in f.items() if k != "crowd"} for f in found]
    (BUILD / "web.json").write_text(json.dumps({"lines": lines, "sizes": sizes_told}, indent=1) + "\n")


if __name__ == "__main__":
    main()
