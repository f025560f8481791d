"""Finds as files: read, checked, and put into their full form."""

from trug.records.find_files import ReadFind, read_find, read_find_text

__all__ = ["ReadFind", "read_find", "read_find_text"]
