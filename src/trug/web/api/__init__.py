"""The API: the same objects as the command line's JSON."""
