"""Where migrations run: on the connection that was handed in."""

from __future__ import annotations

from alembic import context

from steamwright.store.tables import Base

context.configure(connection=context.config.attributes["connection"], target_metadata=Base.metadata, render_as_batch=True)
with context.begin_transaction():
    context.run_migrations()
