"""Weather files of jobs."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the table.

    References
    ----------
    own derivation
    """
    op.create_table(
        "weather",
        sa.Column("job_id", sa.String(length=32), nullable=False),
        sa.Column("name", sa.String(length=200), nullable=False),
        sa.Column("digest", sa.String(length=64), nullable=False),
        sa.Column("source", sa.Text(), nullable=False),
        sa.Column("sent_by", sa.Text(), nullable=False),
        sa.Column("sent_s", sa.BigInteger(), nullable=False),
        sa.Column("content", sa.LargeBinary(), nullable=False),
        sa.ForeignKeyConstraint(["job_id"], ["job.id"], name=op.f("fk_weather_job_id")),
        sa.PrimaryKeyConstraint("job_id", name=op.f("pk_weather")),
    )


def downgrade() -> None:
    """Drop it.

    References
    ----------
    own derivation
    """
    op.drop_table("weather")
