"""Migrations of the database, run by ``trug.records.migrate``."""
