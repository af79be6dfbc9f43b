"""Answers with the model that gave them, outcomes with what they teach, steps done."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Answers of jobs that were kept before are made when such a job is saved again."""
    op.create_table(
        "model",
        sa.Column("id", sa.String(64), nullable=False),
        sa.Column("release", sa.Text, nullable=False),
        sa.Column("defaults", sa.Text, nullable=False),
        sa.Column("first_used", sa.String(27), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_model"),
    )
    op.create_table(
        "answer",
        sa.Column("id", sa.Integer, nullable=False),
        sa.Column("uuid", sa.String(36), nullable=False),
        sa.Column("job_id", sa.Integer, nullable=False),
        sa.Column("job_version", sa.Integer, nullable=False),
        sa.Column("model_id", sa.String(64), nullable=False),
        sa.Column("answer", sa.LargeBinary, nullable=False),
        sa.Column("made", sa.String(27), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_answer"),
        sa.UniqueConstraint("uuid", name="uq_answer_uuid"),
        sa.ForeignKeyConstraint(
            ["job_id", "job_version"],
            ["job_version.job_id", "job_version.version"],
            name="fk_answer_job_id",
        ),
        sa.ForeignKeyConstraint(["model_id"], ["model.id"], name="fk_answer_model_id"),
    )
    op.create_index("ix_answer_job_id", "answer", ["job_id"])
    op.create_table(
        "outcome",
        sa.Column("id", sa.Integer, nullable=False),
        sa.Column("uuid", sa.String(36), nullable=False),
        sa.Column("job_id", sa.Integer, nullable=False),
        sa.Column("job_version", sa.Integer, nullable=False),
        sa.Column("group_name", sa.Text),
        sa.Column("after", sa.Integer, nullable=False),
        sa.Column("result", sa.String(12), nullable=False),
        sa.Column("stopped_by", sa.String(8)),
        sa.Column("failed_by", sa.String(12)),
        sa.Column("used_ml", sa.Float),
        sa.Column("area_m2", sa.Float),
        sa.Column("wet_film_um", sa.Float),
        sa.Column("minutes", sa.Float),
        sa.Column("recoat_h", sa.Float),
        sa.Column("note", sa.Text, nullable=False, server_default=""),
        sa.Column("logged", sa.String(27), nullable=False),
        sa.Column("withdrawn", sa.String(27)),
        sa.Column("lesson", sa.Text),
        sa.Column("lesson_model", sa.String(64)),
        sa.PrimaryKeyConstraint("id", name="pk_outcome"),
        sa.UniqueConstraint("uuid", name="uq_outcome_uuid"),
        sa.ForeignKeyConstraint(
            ["job_id", "job_version"],
            ["job_version.job_id", "job_version.version"],
            name="fk_outcome_job_id",
        ),
    )
    op.create_index("ix_outcome_job_id", "outcome", ["job_id"])
    op.create_table(
        "step_done",
        sa.Column("id", sa.Integer, nullable=False),
        sa.Column("uuid", sa.String(36), nullable=False),
        sa.Column("job_id", sa.Integer, nullable=False),
        sa.Column("step", sa.Text, nullable=False),
        sa.Column("note", sa.Text, nullable=False, server_default=""),
        sa.Column("done", sa.String(27), nullable=False),
        sa.Column("withdrawn", sa.String(27)),
        sa.PrimaryKeyConstraint("id", name="pk_step_done"),
        sa.UniqueConstraint("uuid", name="uq_step_done_uuid"),
        sa.ForeignKeyConstraint(["job_id"], ["job.id"], name="fk_step_done_job_id"),
    )
    op.create_index("ix_step_done_job_id", "step_done", ["job_id"])
