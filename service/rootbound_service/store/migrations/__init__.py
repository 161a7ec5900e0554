"""The steps from one shape of the tables to the next, oldest first, run by alembic."""

HEAD = "0006_months"
"""The newest step: a database at it is up to date."""
