"""Run by alembic for each command: migrate on the connection that migrate.py hands over."""

from __future__ import annotations

from alembic import context

from rootbound_service.store.schema import metadata

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=metadata,
    render_as_batch=True,  # SQLite alters a table only by making it anew
)
with context.begin_transaction():
    context.run_migrations()
