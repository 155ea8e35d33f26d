"""The journal, who wrote it, and what was worked out from it."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None


def upgrade() -> None:
    """Make the tables of the first store."""
    op.create_table(
        "workshop",
        sa.Column("single", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("position", sa.BigInteger(), nullable=False),
        sa.CheckConstraint("single = 1", name=op.f("ck_workshop_one_row")),
        sa.PrimaryKeyConstraint("single", name=op.f("pk_workshop")),
    )
    op.create_table(
        "entry",
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("position", sa.BigInteger(), nullable=False),
        sa.Column("kind", sa.String(length=40), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("happened_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("recorded_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("precision", sa.String(length=20), nullable=False),
        sa.Column("zone", sa.Text(), nullable=False),
        sa.Column("author", sa.Uuid(), nullable=False),
        sa.Column("replaces", sa.Uuid(), nullable=True),
        sa.Column("withdraws", sa.Uuid(), nullable=True),
        sa.Column("typed", sa.Text(), nullable=False),
        sa.Column("words", sa.Text(), nullable=False),
        sa.Column("payload", sa.JSON(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_entry")),
        sa.UniqueConstraint("position", name=op.f("uq_entry_position")),
    )
    for columns in (["happened_at", "id"], ["kind"], ["replaces"], ["withdraws"]):
        op.create_index(op.f(f"ix_entry_{'_'.join(columns)}"), "entry", columns)
    op.create_table(
        "entry_subject",
        sa.Column("entry", sa.Uuid(), nullable=False),
        sa.Column("subject", sa.Uuid(), nullable=False),
        sa.Column("position", sa.BigInteger(), nullable=False),
        sa.ForeignKeyConstraint(
            ["entry"], ["entry.id"], name=op.f("fk_entry_subject_entry_entry"), ondelete="RESTRICT"
        ),
        sa.PrimaryKeyConstraint("entry", "subject", name=op.f("pk_entry_subject")),
    )
    op.create_index(op.f("ix_entry_subject_subject_position"), "entry_subject", ["subject", "position"])
    op.create_index(op.f("ix_entry_subject_position"), "entry_subject", ["position"])
    op.create_table(
        "person",
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("name", sa.Text(), nullable=True),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_person")),
    )
    op.create_table(
        "projection",
        sa.Column("name", sa.String(length=80), nullable=False),
        sa.Column("subject", sa.Uuid(), nullable=False),
        sa.Column("position", sa.BigInteger(), nullable=False),
        sa.Column("fingerprint", sa.String(length=80), nullable=False),
        sa.Column("payload", sa.LargeBinary(), nullable=False),
        sa.PrimaryKeyConstraint("name", "subject", name=op.f("pk_projection")),
    )
