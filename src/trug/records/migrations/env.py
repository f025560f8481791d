"""Run migrations on the connection that ``trug.records.migrate`` hands over."""

from __future__ import annotations

from alembic import context

from trug.records.tables import Base

connection = context.config.attributes["connection"]
context.configure(
    connection=connection,
    target_metadata=Base.metadata,
    render_as_batch=connection.dialect.name == "sqlite",
    compare_type=True,
)
with context.begin_transaction():
    context.run_migrations()
