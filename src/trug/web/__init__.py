"""The local web app: server-rendered pages that work without JavaScript and are quicker with it."""
