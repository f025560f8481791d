"""The command line run inside the tests, and as a program of its own."""

from __future__ import annotations

import io
import os
import subprocess
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest

from trug.cli.app import run

ROOT = Path(__file__).parents[2]


@dataclass(frozen=True)
class Said:
    """What a command wrote, and its exit code."""

    code: int
    out: str
    err: str


Trug = Callable[..., Said]


@pytest.fixture
def trug(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Trug:
    """Run a command in this process."""

    def call(*args: str | Path, stdin: str | bytes = "") -> Said:
        data = stdin.encode() if isinstance(stdin, str) else stdin
        monkeypatch.setattr(sys, "argv", ["trug", *map(str, args)])
        monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(data), "utf-8"))
        capsys.readouterr()
        with pytest.raises(SystemExit) as stopped:
            run()
        out, err = capsys.readouterr()
        return Said(int(stopped.value.code or 0), out, err)

    return call


@pytest.fixture(scope="session")
def program() -> Trug:
    """Run ``python -m trug`` as a process of its own."""

    def call(*args: str | Path, stdin: bytes = b"", cwd: Path | None = None, **more: str) -> Said:
        done = subprocess.run(
            [sys.executable, "-m", "trug", *map(str, args)],
            input=stdin,
            capture_output=True,
            cwd=cwd,
            env={**os.environ, "PYTHONPATH": str(ROOT / "src"), "PYTHONIOENCODING": "utf-8", **more},
            timeout=60,
            check=False,
        )
        return Said(done.returncode, done.stdout.decode(), done.stderr.decode())

    return call
