"""Jobs with their versions, paints, customers, photos."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    """From nothing."""
    op.create_table(
        "customer",
        sa.Column("id", sa.Integer, nullable=False),
        sa.Column("uuid", sa.String(36), nullable=False),
        sa.Column("name", sa.Text, nullable=False, server_default=""),
        sa.Column("contact", sa.Text, nullable=False, server_default=""),
        sa.Column("version", sa.Integer, nullable=False),
        sa.Column("created", sa.String(27), nullable=False),
        sa.Column("changed", sa.String(27), nullable=False),
        sa.Column("erased", sa.String(27)),
        sa.PrimaryKeyConstraint("id", name="pk_customer"),
        sa.UniqueConstraint("uuid", name="uq_customer_uuid"),
    )
    op.create_table(
        "paint",
        sa.Column("id", sa.Integer, nullable=False),
        sa.Column("uuid", sa.String(36), nullable=False),
        sa.Column("name", sa.Text, nullable=False),
        sa.Column("topcoat", sa.Text, nullable=False),
        sa.Column("batch", sa.Text, nullable=False, server_default=""),
        sa.Column("density_g_ml", sa.Float),
        sa.Column("size_ml", sa.Float),
        sa.Column("left_ml", sa.Float),
        sa.Column("price_minor", sa.Integer),
        sa.Column("currency", sa.String(3)),
        sa.Column("opened", sa.String(10)),
        sa.Column("version", sa.Integer, nullable=False),
        sa.Column("created", sa.String(27), nullable=False),
        sa.Column("changed", sa.String(27), nullable=False),
        sa.Column("archived", sa.String(27)),
        sa.PrimaryKeyConstraint("id", name="pk_paint"),
        sa.UniqueConstraint("uuid", name="uq_paint_uuid"),
    )
    op.create_table(
        "job",
        sa.Column("id", sa.Integer, nullable=False),
        sa.Column("uuid", sa.String(36), nullable=False),
        sa.Column("title", sa.Text, nullable=False, server_default=""),
        sa.Column("piece", sa.Text, nullable=False, server_default=""),
        sa.Column("customer_id", sa.Integer),
        sa.Column("state", sa.String(8), nullable=False),
        sa.Column("colour_name", sa.Text, nullable=False, server_default=""),
        sa.Column("colour_hex", sa.Text, nullable=False, server_default=""),
        sa.Column("search", sa.Text, nullable=False, server_default=""),
        sa.Column("version", sa.Integer, nullable=False),
        sa.Column("created", sa.String(27), nullable=False),
        sa.Column("changed", sa.String(27), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_job"),
        sa.UniqueConstraint("uuid", name="uq_job_uuid"),
        sa.ForeignKeyConstraint(["customer_id"], ["customer.id"], name="fk_job_customer_id"),
        sa.CheckConstraint("state IN ('open', 'done', 'archived')", name="ck_job_state"),
    )
    op.create_index("ix_job_changed", "job", ["changed"])
    op.create_index("ix_job_customer_id", "job", ["customer_id"])
    op.create_table(
        "job_version",
        sa.Column("job_id", sa.Integer, nullable=False),
        sa.Column("version", sa.Integer, nullable=False),
        sa.Column("job", sa.Text, nullable=False),
        sa.Column("piece", sa.Text, nullable=False, server_default=""),
        sa.Column("state", sa.String(8), nullable=False),
        sa.Column("saved", sa.String(27), nullable=False),
        sa.PrimaryKeyConstraint("job_id", "version", name="pk_job_version"),
        sa.ForeignKeyConstraint(["job_id"], ["job.id"], name="fk_job_version_job_id"),
    )
    op.create_table(
        "photo",
        sa.Column("sha256", sa.String(64), nullable=False),
        sa.Column("width", sa.Integer, nullable=False),
        sa.Column("height", sa.Integer, nullable=False),
        sa.Column("content", sa.LargeBinary, nullable=False),
        sa.Column("created", sa.String(27), nullable=False),
        sa.PrimaryKeyConstraint("sha256", name="pk_photo"),
    )
    op.create_table(
        "job_photo",
        sa.Column("job_id", sa.Integer, nullable=False),
        sa.Column("sha256", sa.String(64), nullable=False),
        sa.Column("name", sa.Text, nullable=False, server_default=""),
        sa.Column("added", sa.String(27), nullable=False),
        sa.PrimaryKeyConstraint("job_id", "sha256", name="pk_job_photo"),
        sa.ForeignKeyConstraint(["job_id"], ["job.id"], name="fk_job_photo_job_id"),
        sa.ForeignKeyConstraint(["sha256"], ["photo.sha256"], name="fk_job_photo_sha256"),
    )
    op.create_index("ix_job_photo_sha256", "job_photo", ["sha256"])
