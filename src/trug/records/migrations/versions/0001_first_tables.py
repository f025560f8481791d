"""The first tables."""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def _recorded() -> tuple[sa.Column[Any], ...]:
    """Return the columns of every table with a history."""
    return (
        sa.Column("id", sa.String(length=64), nullable=False),
        sa.Column("created_at", sa.String(length=32), nullable=False),
        sa.Column("deleted_at", sa.String(length=32), nullable=True),
    )


def upgrade() -> None:
    """Make the tables."""
    op.create_table(
        "batches",
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("kind", sa.String(length=16), nullable=False),
        sa.Column("made_on", sa.String(length=10), nullable=False),
        sa.Column("taxon", sa.String(length=80), nullable=False),
        sa.Column("conditions", sa.JSON(), nullable=False),
        sa.Column("notes", sa.Text(), nullable=False),
        sa.Column("flagged_at", sa.String(length=32), nullable=True),
        sa.Column("flagged_why", sa.Text(), nullable=False),
        *_recorded(),
        sa.PrimaryKeyConstraint("id"),
    )
    op.create_index("ix_batches_deleted_at", "batches", ["deleted_at"])

    op.create_table(
        "events",
        sa.Column("id", sa.String(length=64), nullable=False),
        sa.Column("entity", sa.String(length=24), nullable=False),
        sa.Column("entity_id", sa.String(length=64), nullable=False),
        sa.Column("field", sa.String(length=40), nullable=False),
        sa.Column("value", sa.JSON(), nullable=False),
        sa.Column("person_id", sa.String(length=64), nullable=True),
        sa.Column("device", sa.String(length=64), nullable=False),
        sa.Column("clock", sa.String(length=96), nullable=False),
        sa.Column("at", sa.String(length=32), nullable=False),
        sa.Column("parents", sa.JSON(), nullable=False),
        sa.PrimaryKeyConstraint("id"),
    )
    op.create_index("events_of", "events", ["entity_id", "field", "clock"])
    op.create_index("events_since", "events", ["clock"])

    op.create_table(
        "people",
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("practice", sa.String(length=16), nullable=False),
        sa.Column("role", sa.String(length=16), nullable=False),
        sa.Column("colour_vision", sa.Boolean(), nullable=False),
        sa.Column("smell", sa.Boolean(), nullable=False),
        sa.Column("may_taste", sa.Boolean(), nullable=False),
        sa.Column("tools", sa.JSON(), nullable=True),
        sa.Column("contact", sa.Text(), nullable=False),
        sa.Column("notes", sa.Text(), nullable=False),
        *_recorded(),
        sa.PrimaryKeyConstraint("id"),
    )
    op.create_index("ix_people_deleted_at", "people", ["deleted_at"])

    op.create_table(
        "places",
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("lat", sa.Float(precision=53), nullable=True),
        sa.Column("lon", sa.Float(precision=53), nullable=True),
        sa.Column("uncertainty_m", sa.Float(precision=53), nullable=True),
        sa.Column("altitude_m", sa.Float(precision=53), nullable=True),
        sa.Column("region", sa.String(length=32), nullable=True),
        sa.Column("wood", sa.Text(), nullable=False),
        sa.Column("permission", sa.Text(), nullable=False),
        sa.Column("hazards", sa.Text(), nullable=False),
        sa.Column("notes", sa.Text(), nullable=False),
        sa.Column("grid_deg", sa.Float(precision=53), nullable=False),
        *_recorded(),
        sa.PrimaryKeyConstraint("id"),
    )
    op.create_index("ix_places_deleted_at", "places", ["deleted_at"])

    op.create_table(
        "settings",
        sa.Column("key", sa.String(length=64), nullable=False),
        sa.Column("value", sa.JSON(), nullable=False),
        sa.PrimaryKeyConstraint("key"),
    )
    op.create_table(
        "classes",
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("held_on", sa.String(length=10), nullable=False),
        sa.Column("place_id", sa.String(length=64), nullable=True),
        sa.Column("teacher_id", sa.String(length=64), nullable=True),
        sa.Column("notes", sa.Text(), nullable=False),
        *_recorded(),
        sa.ForeignKeyConstraint(
            ["place_id"],
            ["places.id"],
        ),
        sa.ForeignKeyConstraint(
            ["teacher_id"],
            ["people.id"],
        ),
        sa.PrimaryKeyConstraint("id"),
    )
    op.create_index("ix_classes_deleted_at", "classes", ["deleted_at"])

    op.create_table(
        "confirmations",
        sa.Column("person_id", sa.String(length=64), nullable=False),
        sa.Column("taxon", sa.String(length=80), nullable=False),
        sa.Column("confirmed_by_id", sa.String(length=64), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        *_recorded(),
        sa.ForeignKeyConstraint(
            ["confirmed_by_id"],
            ["people.id"],
        ),
        sa.ForeignKeyConstraint(
            ["person_id"],
            ["people.id"],
        ),
        sa.PrimaryKeyConstraint("id"),
    )
    op.create_index("ix_confirmations_deleted_at", "confirmations", ["deleted_at"])
    op.create_index("ix_confirmations_person_id", "confirmations", ["person_id"])

    op.create_table(
        "class_members",
        sa.Column("class_id", sa.String(length=64), nullable=False),
        sa.Column("person_id", sa.String(length=64), nullable=False),
        sa.Column("role", sa.String(length=16), nullable=False),
        *_recorded(),
        sa.ForeignKeyConstraint(
            ["class_id"],
            ["classes.id"],
        ),
        sa.ForeignKeyConstraint(
            ["person_id"],
            ["people.id"],
        ),
        sa.PrimaryKeyConstraint("id"),
    )
    op.create_index("ix_class_members_class_id", "class_members", ["class_id"])
    op.create_index("ix_class_members_deleted_at", "class_members", ["deleted_at"])
    op.create_index("ix_class_members_person_id", "class_members", ["person_id"])

    op.create_table(
        "finds",
        sa.Column("date", sa.String(length=32), nullable=False),
        sa.Column("number", sa.String(length=40), nullable=False),
        sa.Column("place_id", sa.String(length=64), nullable=True),
        sa.Column("lat", sa.Float(precision=53), nullable=True),
        sa.Column("lon", sa.Float(precision=53), nullable=True),
        sa.Column("uncertainty_m", sa.Float(precision=53), nullable=True),
        sa.Column("altitude_m", sa.Float(precision=53), nullable=True),
        sa.Column("region", sa.String(length=32), nullable=True),
        sa.Column("finder_id", sa.String(length=64), nullable=True),
        sa.Column("class_id", sa.String(length=64), nullable=True),
        sa.Column("fungarium", sa.String(length=80), nullable=False),
        sa.Column("voucher_at", sa.Text(), nullable=False),
        sa.Column("notes", sa.Text(), nullable=False),
        sa.Column("locality", sa.Text(), nullable=False),
        sa.Column("origin", sa.Text(), nullable=False),
        sa.Column("extra", sa.JSON(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("standing", sa.String(length=16), nullable=False),
        sa.Column("open_severe", sa.Integer(), nullable=True),
        *_recorded(),
        sa.ForeignKeyConstraint(
            ["class_id"],
            ["classes.id"],
        ),
        sa.ForeignKeyConstraint(
            ["finder_id"],
            ["people.id"],
        ),
        sa.ForeignKeyConstraint(
            ["place_id"],
            ["places.id"],
        ),
        sa.PrimaryKeyConstraint("id"),
    )
    op.create_index("finds_by_day", "finds", ["deleted_at", "date", "id"])
    op.create_index("finds_by_origin", "finds", ["origin"])
    op.create_index("finds_by_standing", "finds", ["standing", "id"])
    op.create_index("ix_finds_class_id", "finds", ["class_id"])
    op.create_index("ix_finds_deleted_at", "finds", ["deleted_at"])
    op.create_index("ix_finds_finder_id", "finds", ["finder_id"])
    op.create_index("ix_finds_place_id", "finds", ["place_id"])

    op.create_table(
        "determinations",
        sa.Column("id", sa.String(length=64), nullable=False),
        sa.Column("find_id", sa.String(length=64), nullable=False),
        sa.Column("made_at", sa.String(length=32), nullable=False),
        sa.Column("person_id", sa.String(length=64), nullable=True),
        sa.Column("taxon", sa.String(length=80), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("find_sha256", sa.String(length=64), nullable=False),
        sa.Column("book_sha256", sa.String(length=64), nullable=False),
        sa.Column("book_date", sa.String(length=32), nullable=False),
        sa.Column("program", sa.String(length=32), nullable=False),
        sa.Column("format", sa.String(length=32), nullable=False),
        sa.Column("record", sa.LargeBinary(), nullable=False),
        sa.Column("supersedes", sa.String(length=64), nullable=True),
        sa.ForeignKeyConstraint(
            ["find_id"],
            ["finds.id"],
        ),
        sa.ForeignKeyConstraint(
            ["person_id"],
            ["people.id"],
        ),
        sa.PrimaryKeyConstraint("id"),
    )
    op.create_index("ix_determinations_find_id", "determinations", ["find_id"])

    op.create_table(
        "expert_packets",
        sa.Column("find_id", sa.String(length=64), nullable=False),
        sa.Column("recipient", sa.Text(), nullable=False),
        sa.Column("names_hidden", sa.Boolean(), nullable=False),
        sa.Column("question", sa.Text(), nullable=False),
        sa.Column("seal", sa.String(length=64), nullable=False),
        sa.Column("sha256", sa.String(length=64), nullable=False),
        *_recorded(),
        sa.ForeignKeyConstraint(
            ["find_id"],
            ["finds.id"],
        ),
        sa.PrimaryKeyConstraint("id"),
    )
    op.create_index("ix_expert_packets_deleted_at", "expert_packets", ["deleted_at"])
    op.create_index("ix_expert_packets_find_id", "expert_packets", ["find_id"])

    op.create_table(
        "find_words",
        sa.Column("find_id", sa.String(length=64), nullable=False),
        sa.Column("date", sa.String(length=32), nullable=False),
        sa.Column("words", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["find_id"], ["finds.id"], ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("find_id"),
    )
    if op.get_bind().dialect.name == "sqlite":  # elsewhere the size of an index row is limited
        op.create_index("find_words_by_day", "find_words", ["date", "find_id", "words"], unique=False)

    op.create_table(
        "fruitbodies",
        sa.Column("find_id", sa.String(length=64), nullable=False),
        sa.Column("label", sa.String(length=16), nullable=False),
        sa.Column("stage", sa.JSON(), nullable=False),
        sa.Column("condition", sa.JSON(), nullable=False),
        sa.Column("notes", sa.Text(), nullable=False),
        sa.Column("proposed", sa.Text(), nullable=False),
        sa.Column("open_severe", sa.Integer(), nullable=True),
        sa.Column("open_all", sa.Integer(), nullable=True),
        *_recorded(),
        sa.ForeignKeyConstraint(
            ["find_id"],
            ["finds.id"],
        ),
        sa.PrimaryKeyConstraint("id"),
    )
    op.create_index("ix_fruitbodies_deleted_at", "fruitbodies", ["deleted_at"])
    op.create_index("ix_fruitbodies_find_id", "fruitbodies", ["find_id"])

    op.create_table(
        "stated_names",
        sa.Column("find_id", sa.String(length=64), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("taxon", sa.String(length=80), nullable=False),
        sa.Column("qualifier", sa.String(length=32), nullable=False),
        sa.Column("stated_by", sa.Text(), nullable=False),
        sa.Column("stated_on", sa.String(length=64), nullable=False),
        sa.Column("remarks", sa.Text(), nullable=False),
        *_recorded(),
        sa.ForeignKeyConstraint(
            ["find_id"],
            ["finds.id"],
        ),
        sa.PrimaryKeyConstraint("id"),
    )
    op.create_index("ix_stated_names_deleted_at", "stated_names", ["deleted_at"])
    op.create_index("ix_stated_names_find_id", "stated_names", ["find_id"])

    op.create_table(
        "expert_replies",
        sa.Column("packet_id", sa.String(length=64), nullable=False),
        sa.Column("find_id", sa.String(length=64), nullable=False),
        sa.Column("expert", sa.Text(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("taxon", sa.String(length=80), nullable=False),
        sa.Column("certainty", sa.String(length=16), nullable=False),
        sa.Column("remarks", sa.Text(), nullable=False),
        sa.Column("written_on", sa.String(length=32), nullable=False),
        sa.Column("sealed", sa.Boolean(), nullable=False),
        sa.Column("document", sa.JSON(), nullable=False),
        *_recorded(),
        sa.ForeignKeyConstraint(
            ["find_id"],
            ["finds.id"],
        ),
        sa.ForeignKeyConstraint(
            ["packet_id"],
            ["expert_packets.id"],
        ),
        sa.PrimaryKeyConstraint("id"),
    )
    op.create_index("ix_expert_replies_deleted_at", "expert_replies", ["deleted_at"])
    op.create_index("ix_expert_replies_find_id", "expert_replies", ["find_id"])
    op.create_index("ix_expert_replies_packet_id", "expert_replies", ["packet_id"])

    op.create_table(
        "looks",
        sa.Column("find_id", sa.String(length=64), nullable=False),
        sa.Column("fruitbody_id", sa.String(length=64), nullable=True),
        sa.Column("character", sa.String(length=40), nullable=False),
        sa.Column("evidence", sa.JSON(), nullable=False),
        sa.Column("sure", sa.String(length=8), nullable=False),
        sa.Column("method", sa.String(length=16), nullable=False),
        sa.Column("observer_id", sa.String(length=64), nullable=True),
        sa.Column("device", sa.String(length=64), nullable=True),
        sa.Column("time", sa.String(length=32), nullable=True),
        sa.Column("sources", sa.JSON(), nullable=False),
        sa.Column("supersedes", sa.String(length=64), nullable=True),
        sa.Column("blind", sa.Boolean(), nullable=False),
        *_recorded(),
        sa.ForeignKeyConstraint(
            ["find_id"],
            ["finds.id"],
        ),
        sa.ForeignKeyConstraint(
            ["fruitbody_id"],
            ["fruitbodies.id"],
        ),
        sa.ForeignKeyConstraint(
            ["observer_id"],
            ["people.id"],
        ),
        sa.PrimaryKeyConstraint("id"),
    )
    op.create_index("ix_looks_deleted_at", "looks", ["deleted_at"])
    op.create_index("ix_looks_find_id", "looks", ["find_id"])
    op.create_index("ix_looks_fruitbody_id", "looks", ["fruitbody_id"])

    op.create_table(
        "photos",
        sa.Column("find_id", sa.String(length=64), nullable=False),
        sa.Column("fruitbody_id", sa.String(length=64), nullable=True),
        sa.Column("sha256", sa.String(length=64), nullable=False),
        sa.Column("role", sa.String(length=16), nullable=False),
        sa.Column("caption", sa.Text(), nullable=False),
        sa.Column("media_type", sa.String(length=32), nullable=False),
        sa.Column("width", sa.Integer(), nullable=False),
        sa.Column("height", sa.Integer(), nullable=False),
        sa.Column("taken", sa.String(length=32), nullable=True),
        sa.Column("lat", sa.Float(precision=53), nullable=True),
        sa.Column("lon", sa.Float(precision=53), nullable=True),
        *_recorded(),
        sa.ForeignKeyConstraint(
            ["find_id"],
            ["finds.id"],
        ),
        sa.ForeignKeyConstraint(
            ["fruitbody_id"],
            ["fruitbodies.id"],
        ),
        sa.PrimaryKeyConstraint("id"),
    )
    op.create_index("ix_photos_deleted_at", "photos", ["deleted_at"])
    op.create_index("ix_photos_find_id", "photos", ["find_id"])
    op.create_index("ix_photos_sha256", "photos", ["sha256"])

    op.create_table(
        "signatures",
        sa.Column("find_id", sa.String(length=64), nullable=False),
        sa.Column("determination_id", sa.String(length=64), nullable=False),
        sa.Column("person_id", sa.String(length=64), nullable=False),
        sa.Column("role", sa.String(length=16), nullable=False),
        sa.Column("taxon", sa.String(length=80), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("in_hand", sa.Boolean(), nullable=False),
        sa.Column("fruitbodies", sa.JSON(), nullable=False),
        sa.Column("released", sa.JSON(), nullable=False),
        sa.Column("signed_at", sa.String(length=32), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("voided_at", sa.String(length=32), nullable=True),
        sa.Column("voided_why", sa.Text(), nullable=False),
        *_recorded(),
        sa.ForeignKeyConstraint(
            ["determination_id"],
            ["determinations.id"],
        ),
        sa.ForeignKeyConstraint(
            ["find_id"],
            ["finds.id"],
        ),
        sa.ForeignKeyConstraint(
            ["person_id"],
            ["people.id"],
        ),
        sa.PrimaryKeyConstraint("id"),
    )
    op.create_index("ix_signatures_deleted_at", "signatures", ["deleted_at"])
    op.create_index("ix_signatures_find_id", "signatures", ["find_id"])
    op.create_index("ix_signatures_person_id", "signatures", ["person_id"])

    op.create_table(
        "batch_parts",
        sa.Column("batch_id", sa.String(length=64), nullable=False),
        sa.Column("fruitbody_id", sa.String(length=64), nullable=False),
        sa.Column("signature_id", sa.String(length=64), nullable=False),
        *_recorded(),
        sa.ForeignKeyConstraint(
            ["batch_id"],
            ["batches.id"],
        ),
        sa.ForeignKeyConstraint(
            ["fruitbody_id"],
            ["fruitbodies.id"],
        ),
        sa.ForeignKeyConstraint(
            ["signature_id"],
            ["signatures.id"],
        ),
        sa.PrimaryKeyConstraint("id"),
    )
    op.create_index("ix_batch_parts_batch_id", "batch_parts", ["batch_id"])
    op.create_index("ix_batch_parts_deleted_at", "batch_parts", ["deleted_at"])
    op.create_index("ix_batch_parts_fruitbody_id", "batch_parts", ["fruitbody_id"])
    op.create_index("ix_batch_parts_signature_id", "batch_parts", ["signature_id"])

    op.create_table(
        "spore_prints",
        sa.Column("find_id", sa.String(length=64), nullable=False),
        sa.Column("fruitbody_id", sa.String(length=64), nullable=False),
        sa.Column("paper", sa.String(length=16), nullable=False),
        sa.Column("started", sa.String(length=32), nullable=True),
        sa.Column("read_at", sa.String(length=32), nullable=True),
        sa.Column("deposit", sa.String(length=16), nullable=False),
        sa.Column("colour", sa.String(length=40), nullable=True),
        sa.Column("kept_at", sa.Text(), nullable=False),
        sa.Column("photo_id", sa.String(length=64), nullable=True),
        sa.Column("notes", sa.Text(), nullable=False),
        *_recorded(),
        sa.ForeignKeyConstraint(
            ["find_id"],
            ["finds.id"],
        ),
        sa.ForeignKeyConstraint(
            ["fruitbody_id"],
            ["fruitbodies.id"],
        ),
        sa.ForeignKeyConstraint(
            ["photo_id"],
            ["photos.id"],
        ),
        sa.PrimaryKeyConstraint("id"),
    )
    op.create_index("ix_spore_prints_deleted_at", "spore_prints", ["deleted_at"])
    op.create_index("ix_spore_prints_find_id", "spore_prints", ["find_id"])
    op.create_index("ix_spore_prints_fruitbody_id", "spore_prints", ["fruitbody_id"])


def downgrade() -> None:
    """Drop them, with their indexes."""
    op.drop_table("spore_prints")
    op.drop_table("batch_parts")
    op.drop_table("signatures")
    op.drop_table("photos")
    op.drop_table("looks")
    op.drop_table("expert_replies")
    op.drop_table("stated_names")
    op.drop_table("fruitbodies")
    op.drop_table("find_words")
    op.drop_table("expert_packets")
    op.drop_table("determinations")
    op.drop_table("finds")
    op.drop_table("class_members")
    op.drop_table("confirmations")
    op.drop_table("classes")
    op.drop_table("settings")
    op.drop_table("places")
    op.drop_table("people")
    op.drop_table("events")
    op.drop_table("batches")
