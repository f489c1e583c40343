"""What searches for other layouts found."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the tables of found layouts.

    References
    ----------
    own derivation
    """
    op.create_table(
        "search",
        sa.Column("job_id", sa.String(length=32), nullable=False),
        sa.Column("run", sa.String(length=32), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("beside", sa.String(length=64), nullable=False),
        sa.Column("program", sa.String(length=64), nullable=False),
        sa.Column("wishes", sa.String(length=64), nullable=False),
        sa.Column("ended_early", sa.Boolean(), nullable=False),
        sa.Column("told", sa.LargeBinary(), nullable=False),
        sa.ForeignKeyConstraint(["job_id"], ["job.id"], name=op.f("fk_search_job_id")),
        sa.PrimaryKeyConstraint("job_id", name=op.f("pk_search")),
    )
    op.create_table(
        "found_layout",
        sa.Column("job_id", sa.String(length=32), nullable=False),
        sa.Column("id", sa.String(length=32), nullable=False),
        sa.Column("wishes", sa.String(length=64), nullable=False),
        sa.Column("covering", sa.LargeBinary(), nullable=False),
        sa.ForeignKeyConstraint(["job_id"], ["search.job_id"], name=op.f("fk_found_layout_job_id")),
        sa.PrimaryKeyConstraint("job_id", "id", name=op.f("pk_found_layout")),
    )


def downgrade() -> None:
    """Drop them.

    References
    ----------
    own derivation
    """
    op.drop_table("found_layout")
    op.drop_table("search")
