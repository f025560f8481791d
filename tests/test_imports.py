"""What may import what, and what must not be loaded early."""

from __future__ import annotations

import ast
import subprocess
import sys
from pathlib import Path

import pytest

import trug

SOURCE = Path(trug.__file__).parent
ROOT = Path(__file__).parent.parent
#: Each layer may import itself and the layers before it; what stands outside the layers is shared.
LAYERS = ("characters", "treatments", "determine", "records", "cli")
#: Modules through which the engine could reach files, the clock, the network, other programs or chance.
IMPURE = frozenset(
    [
        "os", "pathlib", "io", "shutil", "tempfile", "glob", "sqlite3", "logging", "time", "socket", "ssl", "http",
        "urllib", "subprocess", "random", "secrets",
    ]
)  # fmt: skip
IMPURE_CALLS = frozenset({"open", "print", "input", "exec", "eval"})


def files(layer: str) -> list[Path]:
    return sorted((SOURCE / layer).rglob("*.py"))


def imported(path: Path) -> set[str]:
    """Return every module that a file imports, wherever in the file."""
    names = set()
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        if isinstance(node, ast.Import):
            names |= {a.name for a in node.names}
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: imports are written in full"
            names |= {f"{node.module}.{a.name}" for a in node.names} | {str(node.module)}
    return names


@pytest.mark.parametrize("layer", LAYERS)
def test_layers_import_only_downwards(layer: str) -> None:
    """No file imports a layer above its own."""
    above = LAYERS[LAYERS.index(layer) + 1 :]
    assert files(layer)
    for path in files(layer):
        wrong = {n for n in imported(path) for up in above if n == f"trug.{up}" or n.startswith(f"trug.{up}.")}
        assert not wrong, path


def test_the_engine_reaches_no_file_clock_network_or_chance() -> None:
    """``determine`` imports nothing impure, calls nothing that reads or writes, and is handed its random generators."""
    for path in files("determine"):
        assert not {n.split(".")[0] for n in imported(path)} & IMPURE, path
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.Call):
                if isinstance(node.func, ast.Name):
                    assert node.func.id not in IMPURE_CALLS, path
                if isinstance(node.func, ast.Attribute):
                    assert node.func.attr not in {"now", "today", "utcnow", "default_rng", "seed", "tofile"}, path


def test_the_engine_knows_no_terminal() -> None:
    """Neither the pure layers nor the records import what draws on a screen."""
    for layer in LAYERS[:-1]:
        for path in files(layer):
            assert not {n.split(".")[0] for n in imported(path)} & {"rich", "typer", "click"}, path


def test_the_import_contracts_hold() -> None:
    """import-linter finds every contract of ``pyproject.toml`` kept."""
    lint = (
        "import sys; from importlinter.cli import lint_imports; "
        "sys.exit(lint_imports(config_filename='pyproject.toml', no_cache=True))"
    )
    done = subprocess.run([sys.executable, "-c", lint], cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
    assert "0 broken" in done.stdout


def loaded_by(code: str) -> set[str]:
    """Return the top-level modules that a fresh interpreter holds after some code."""
    text = f"import sys\n{code}\nprint('\\n' + ' '.join(sorted({{m.split('.')[0] for m in sys.modules}})))"
    done = subprocess.run([sys.executable, "-c", text], capture_output=True, text=True, check=True)
    return set(done.stdout.splitlines()[-1].split())


HEAVY = {"numpy", "rich", "typer", "click", "msgspec", "scipy"}


def test_the_entry_point_loads_nothing_heavy() -> None:
    """Importing the entry point loads neither numpy nor the terminal libraries."""
    assert not loaded_by("import trug.__main__") & HEAVY


def test_asking_for_the_version_loads_nothing_heavy() -> None:
    """``trug --version`` answers without loading anything else."""
    loaded = loaded_by("sys.argv = ['trug', '--version']\nimport trug.__main__\ntrug.__main__.main()")
    assert not loaded & HEAVY


def test_the_check_for_heavy_modules_can_fail() -> None:
    """The engine does load numpy, and the check sees it."""
    assert "numpy" in loaded_by("import trug.determine")


def test_the_engine_loads_no_test_only_library() -> None:
    """Nothing that only tests and benchmarks need is loaded by the engine or the command line."""
    assert not loaded_by("import trug.determine, trug.cli.app") & {
        "scipy",
        "sklearn",
        "hypothesis",
        "pytest",
        "matplotlib",
    }
