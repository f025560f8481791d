"""Entry point of the command ``trug``."""

from __future__ import annotations

import sys

__all__ = ["main"]


def main() -> None:
    """Run the command line; answer ``--version`` without loading anything else."""
    if sys.argv[1:] == ["--version"]:
        from trug import __version__

        print(f"trug {__version__}")
        return
    from trug.cli.app import run

    run()


if __name__ == "__main__":
    main()
