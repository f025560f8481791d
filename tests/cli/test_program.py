"""The program as a process: exit codes, streams, start."""

from __future__ import annotations

import json
import subprocess
import sys
from importlib import resources
from pathlib import Path
from typing import Any

import pytest

import trug as package
from trug.cli.app import EXIT_BOOK, EXIT_INPUT
from trug.cli.determine import EXIT_CONFLICT

DEMO = (resources.files("trug.cli") / "cluster.toml").read_bytes()
CONFLICT = {
    "date": "2026-10-04",
    "region": "europe-north",
    "fruitbodies": [{"id": "a", "stage": "prime"}],
    "looks": [
        {"id": "x", "fruitbody": "a", "character": "spore_print", "evidence": "white"},
        {"id": "y", "fruitbody": "a", "character": "spore_print", "evidence": "black"},
    ],
}


def test_the_version_is_told_without_loading_the_reasoning() -> None:
    code = (
        "import sys; sys.argv = ['trug', '--version']; from trug.__main__ import main; main();"
        "print(sorted({'numpy', 'typer', 'rich', 'msgspec'} & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.splitlines() == [f"trug {package.__version__}", "[]"]
    assert done.stderr == ""


def test_help_is_told_without_loading_the_reasoning() -> None:
    code = (
        "import sys; sys.argv = ['trug', 'determine', '--help']; import atexit;"
        "atexit.register(lambda: print('numpy' in sys.modules)); from trug.__main__ import main; main()"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.startswith("Usage: ")
    assert done.stdout.splitlines()[-1] == "False"


def test_done_is_exit_code_nought_and_a_second_run_is_the_same_byte_for_byte(program: Any) -> None:
    first = program("determine", "-", "--json", "--sign", "velvet shank", stdin=DEMO)
    again = program("determine", "-", "--json", "--sign", "velvet shank", stdin=DEMO, PYTHONHASHSEED="7")
    assert (first.code, first.err) == (0, "")
    assert json.loads(first.out)["find"] == "december-class"
    assert again.out == first.out


def test_input_that_cannot_be_used_is_exit_code_one(program: Any, tmp_path: Path) -> None:
    (tmp_path / "walk.toml").write_bytes(DEMO.replace(b'"velvety"', b'"velvty"', 1))
    said = program("determine", "walk.toml", cwd=tmp_path)
    assert said.code == EXIT_INPUT == 1
    assert said.out == ""
    line = DEMO.decode().splitlines().index('stipe_surface = "velvety"') + 1
    assert said.err.startswith(f"trug: walk.toml:{line}: stipe_surface has no state 'velvty'; did you mean 'velvety'")


def test_wrong_use_is_exit_code_two(program: Any) -> None:
    said = program("determine", "--colour")
    assert said.code == 2
    assert "No such option" in said.err


def test_a_wrong_book_is_exit_code_three(program: Any, tmp_path: Path) -> None:
    said = program("book", "check", tmp_path)
    assert said.code == EXIT_BOOK == 3
    assert said.err == "the book is wrong: sources.toml: missing\n"


def test_looks_that_contradict_are_exit_code_four(program: Any) -> None:
    said = program("determine", "-", "--json", stdin=json.dumps(CONFLICT).encode())
    assert said.code == EXIT_CONFLICT == 4
    assert "contradict each other" in said.err
    assert json.loads(said.out)["fruitbodies"][0]["conflicts"] == [["x", "y"]]


def test_bytes_that_are_no_text_are_refused_on_standard_input_in_every_locale(program: Any) -> None:
    for locale in ("C", "C.UTF-8"):
        said = program("determine", "-", stdin=b'date = "\xff"', LC_ALL=locale, PYTHONIOENCODING="")
        assert (said.code, said.out) == (1, "")
        assert said.err == "trug: standard input: not a text file (UTF-8 is expected)\n"


def test_a_reader_that_stops_early_is_no_error() -> None:
    running = subprocess.Popen(
        [sys.executable, "-m", "trug", "characters"], stdout=subprocess.PIPE, stderr=subprocess.PIPE
    )
    assert running.stdout is not None
    assert running.stderr is not None
    running.stdout.close()
    assert b"Traceback" not in running.stderr.read()
    running.stderr.close()
    running.wait(60)


def test_completion_can_be_installed_and_shown(program: Any) -> None:
    said = program("--help")
    assert "--install-completion" in said.out
    assert "--show-completion" in said.out
    asked = program(_TRUG_COMPLETE="complete_bash", COMP_WORDS="trug de", COMP_CWORD="1")
    assert "Traceback" not in asked.err


@pytest.mark.parametrize("name", ["PY_COLORS", "TERM"])
def test_piped_output_is_plain_whatever_the_terminal_is_called(program: Any, name: str) -> None:
    said = program("example", **{name: "xterm-256color" if name == "TERM" else "1"})
    assert said.code == 0
    assert "\x1b" not in said.out + said.err
