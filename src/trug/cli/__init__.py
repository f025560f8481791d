"""The command line: thin, everything it shows is computed below."""
