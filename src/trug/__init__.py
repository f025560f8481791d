"""Reasoned names for wild finds, with a ledger of what could harm."""

__version__ = "0.1.0"
__all__ = ["__version__"]
