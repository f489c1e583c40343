"""Guest links end."""

from __future__ import annotations

import time

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None

_90_DAYS_S = 90 * 24 * 3600


def upgrade() -> None:
    """Add when a link ends. Links that are there stay good for as long as a new one would.

    References
    ----------
    common practice, no source
    """
    # added in place: to copy the table, as SQLite needs it for anything more, would end the sessions of all guests
    op.add_column("guest_link", sa.Column("ends_s", sa.BigInteger(), nullable=False, server_default=str(int(time.time()) + _90_DAYS_S)))


def downgrade() -> None:
    """Drop it.

    References
    ----------
    own derivation
    """
    op.drop_column("guest_link", "ends_s")
