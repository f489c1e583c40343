"""First tables."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the tables.

    References
    ----------
    own derivation
    """
    op.create_table(
        "account",
        sa.Column("name", sa.String(length=80), nullable=False),
        sa.Column("role", sa.String(length=10), nullable=False),
        sa.Column("password_hash", sa.Text(), nullable=False),
        sa.Column("active", sa.Boolean(), nullable=False),
        sa.PrimaryKeyConstraint("name", name=op.f("pk_account")),
    )
    op.create_table(
        "job",
        sa.Column("id", sa.String(length=32), nullable=False),
        sa.Column("head", sa.Integer(), nullable=False),
        sa.Column("last", sa.Integer(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("archived", sa.Boolean(), nullable=False),
        sa.Column("touched_s", sa.BigInteger(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_job")),
    )
    with op.batch_alter_table("job", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_job_touched_s"), ["touched_s"], unique=False)

    op.create_table(
        "plan",
        sa.Column("key", sa.String(length=64), nullable=False),
        sa.Column("finished", sa.Boolean(), nullable=False),
        sa.Column("summary", sa.Text(), nullable=False),
        sa.Column("made_s", sa.BigInteger(), nullable=False),
        sa.PrimaryKeyConstraint("key", name=op.f("pk_plan")),
    )
    op.create_table(
        "guest_link",
        sa.Column("id", sa.String(length=32), nullable=False),
        sa.Column("token_hash", sa.String(length=64), nullable=False),
        sa.Column("job_id", sa.String(length=32), nullable=False),
        sa.Column("label", sa.Text(), nullable=False),
        sa.Column("made_by", sa.Text(), nullable=False),
        sa.Column("made_s", sa.BigInteger(), nullable=False),
        sa.ForeignKeyConstraint(["job_id"], ["job.id"], name=op.f("fk_guest_link_job_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_guest_link")),
        sa.UniqueConstraint("token_hash", name=op.f("uq_guest_link_token_hash")),
    )
    op.create_table(
        "plan_file",
        sa.Column("plan_key", sa.String(length=64), nullable=False),
        sa.Column("path", sa.String(length=200), nullable=False),
        sa.Column("place", sa.Integer(), nullable=False),
        sa.Column("size", sa.BigInteger(), nullable=False),
        sa.Column("digest", sa.String(length=64), nullable=False),
        sa.Column("content", sa.LargeBinary(), nullable=False),
        sa.ForeignKeyConstraint(["plan_key"], ["plan.key"], name=op.f("fk_plan_file_plan_key")),
        sa.PrimaryKeyConstraint("plan_key", "path", name=op.f("pk_plan_file")),
    )
    op.create_table(
        "planned",
        sa.Column("job_id", sa.String(length=32), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("plan_key", sa.String(length=64), nullable=False),
        sa.ForeignKeyConstraint(["job_id"], ["job.id"], name=op.f("fk_planned_job_id")),
        sa.ForeignKeyConstraint(["plan_key"], ["plan.key"], name=op.f("fk_planned_plan_key")),
        sa.PrimaryKeyConstraint("job_id", "number", name=op.f("pk_planned")),
    )
    op.create_table(
        "revision",
        sa.Column("id", sa.Integer(), autoincrement=True, nullable=False),
        sa.Column("job_id", sa.String(length=32), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("based_on", sa.Integer(), nullable=False),
        sa.Column("aside", sa.Boolean(), nullable=False),
        sa.Column("draft", sa.Text(), nullable=False),
        sa.Column("digest", sa.String(length=64), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("saved_by", sa.Text(), nullable=False),
        sa.Column("saved_s", sa.BigInteger(), nullable=False),
        sa.ForeignKeyConstraint(["job_id"], ["job.id"], name=op.f("fk_revision_job_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_revision")),
        sa.UniqueConstraint("job_id", "number", name=op.f("uq_revision_job_id_number")),
    )
    op.create_table(
        "session",
        sa.Column("token_hash", sa.String(length=64), nullable=False),
        sa.Column("csrf", sa.String(length=64), nullable=False),
        sa.Column("account", sa.String(length=80), nullable=True),
        sa.Column("guest_link", sa.String(length=32), nullable=True),
        sa.Column("ends_s", sa.BigInteger(), nullable=False),
        sa.ForeignKeyConstraint(["account"], ["account.name"], name=op.f("fk_session_account")),
        sa.ForeignKeyConstraint(["guest_link"], ["guest_link.id"], name=op.f("fk_session_guest_link"), ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("token_hash", name=op.f("pk_session")),
    )
    with op.batch_alter_table("session", schema=None) as batch_op:
        batch_op.create_index("ix_session_ends_s", ["ends_s"], unique=False)



def downgrade() -> None:
    """Drop them.

    References
    ----------
    own derivation
    """
    with op.batch_alter_table("session", schema=None) as batch_op:
        batch_op.drop_index("ix_session_ends_s")

    op.drop_table("session")
    op.drop_table("revision")
    op.drop_table("planned")
    op.drop_table("plan_file")
    op.drop_table("guest_link")
    op.drop_table("plan")
    with op.batch_alter_table("job", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_job_touched_s"))

    op.drop_table("job")
    op.drop_table("account")
