"""Answers keep the finished jobs that they were learned from."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Answers that were given before were learned from none."""
    op.add_column("answer", sa.Column("finished", sa.LargeBinary))
