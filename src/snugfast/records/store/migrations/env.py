"""Runs the revisions on the connection it is handed. Whoever hands it over begins and commits."""

from alembic import context

from snugfast.records.store.schema import metadata

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=metadata,
    render_as_batch=True,
    user_module_prefix="sa.",
)
with context.begin_transaction():
    context.run_migrations()
