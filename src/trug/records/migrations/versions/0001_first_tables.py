"""The first tables."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


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
        sa.Column("id", sa.String(length=64), nullable=False),
        sa.Column("created_at", sa.String(length=32), nullable=False),
        sa.Column("deleted_at", sa.String(length=32), nullable=True),
        sa.PrimaryKeyConstraint("id"),
    )
    with op.batch_alter_table("batches", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_batches_deleted_at"), ["deleted_at"], unique=False)

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
    with op.batch_alter_table("events", schema=None) as batch_op:
        batch_op.create_index("events_of", ["entity_id", "field", "clock"], unique=False)
        batch_op.create_index("events_since", ["clock"], unique=False)

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
        sa.Column("id", sa.String(length=64), nullable=False),
        sa.Column("created_at", sa.String(length=32), nullable=False),
        sa.Column("deleted_at", sa.String(length=32), nullable=True),
        sa.PrimaryKeyConstraint("id"),
    )
    with op.batch_alter_table("people", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_people_deleted_at"), ["deleted_at"], unique=False)

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
        sa.Column("id", sa.String(length=64), nullable=False),
        sa.Column("created_at", sa.String(length=32), nullable=False),
        sa.Column("deleted_at", sa.String(length=32), nullable=True),
        sa.PrimaryKeyConstraint("id"),
    )
    with op.batch_alter_table("places", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_places_deleted_at"), ["deleted_at"], unique=False)

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
        sa.Column("id", sa.String(length=64), nullable=False),
        sa.Column("created_at", sa.String(length=32), nullable=False),
        sa.Column("deleted_at", sa.String(length=32), nullable=True),
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
    with op.batch_alter_table("classes", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_classes_deleted_at"), ["deleted_at"], unique=False)

    op.create_table(
        "confirmations",
        sa.Column("person_id", sa.String(length=64), nullable=False),
        sa.Column("taxon", sa.String(length=80), nullable=False),
        sa.Column("confirmed_by_id", sa.String(length=64), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("id", sa.String(length=64), nullable=False),
        sa.Column("created_at", sa.String(length=32), nullable=False),
        sa.Column("deleted_at", sa.String(length=32), nullable=True),
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
    with op.batch_alter_table("confirmations", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_confirmations_deleted_at"), ["deleted_at"], unique=False)
        batch_op.create_index(batch_op.f("ix_confirmations_person_id"), ["person_id"], unique=False)

    op.create_table(
        "class_members",
        sa.Column("class_id", sa.String(length=64), nullable=False),
        sa.Column("person_id", sa.String(length=64), nullable=False),
        sa.Column("role", sa.String(length=16), nullable=False),
        sa.Column("id", sa.String(length=64), nullable=False),
        sa.Column("created_at", sa.String(length=32), nullable=False),
        sa.Column("deleted_at", sa.String(length=32), nullable=True),
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
    with op.batch_alter_table("class_members", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_class_members_class_id"), ["class_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_class_members_deleted_at"), ["deleted_at"], unique=False)
        batch_op.create_index(batch_op.f("ix_class_members_person_id"), ["person_id"], unique=False)

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
        sa.Column("id", sa.String(length=64), nullable=False),
        sa.Column("created_at", sa.String(length=32), nullable=False),
        sa.Column("deleted_at", sa.String(length=32), nullable=True),
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
    with op.batch_alter_table("finds", schema=None) as batch_op:
        batch_op.create_index("finds_by_day", ["deleted_at", "date", "id"], unique=False)
        batch_op.create_index("finds_by_origin", ["origin"], unique=False)
        batch_op.create_index("finds_by_standing", ["standing", "id"], unique=False)
        batch_op.create_index(batch_op.f("ix_finds_class_id"), ["class_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_finds_deleted_at"), ["deleted_at"], unique=False)
        batch_op.create_index(batch_op.f("ix_finds_finder_id"), ["finder_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_finds_place_id"), ["place_id"], unique=False)

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
    with op.batch_alter_table("determinations", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_determinations_find_id"), ["find_id"], unique=False)

    op.create_table(
        "expert_packets",
        sa.Column("find_id", sa.String(length=64), nullable=False),
        sa.Column("recipient", sa.Text(), nullable=False),
        sa.Column("names_hidden", sa.Boolean(), nullable=False),
        sa.Column("question", sa.Text(), nullable=False),
        sa.Column("seal", sa.String(length=64), nullable=False),
        sa.Column("sha256", sa.String(length=64), nullable=False),
        sa.Column("id", sa.String(length=64), nullable=False),
        sa.Column("created_at", sa.String(length=32), nullable=False),
        sa.Column("deleted_at", sa.String(length=32), nullable=True),
        sa.ForeignKeyConstraint(
            ["find_id"],
            ["finds.id"],
        ),
        sa.PrimaryKeyConstraint("id"),
    )
    with op.batch_alter_table("expert_packets", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_expert_packets_deleted_at"), ["deleted_at"], unique=False)
        batch_op.create_index(batch_op.f("ix_expert_packets_find_id"), ["find_id"], unique=False)

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
        sa.Column("id", sa.String(length=64), nullable=False),
        sa.Column("created_at", sa.String(length=32), nullable=False),
        sa.Column("deleted_at", sa.String(length=32), nullable=True),
        sa.ForeignKeyConstraint(
            ["find_id"],
            ["finds.id"],
        ),
        sa.PrimaryKeyConstraint("id"),
    )
    with op.batch_alter_table("fruitbodies", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_fruitbodies_deleted_at"), ["deleted_at"], unique=False)
        batch_op.create_index(batch_op.f("ix_fruitbodies_find_id"), ["find_id"], unique=False)

    op.create_table(
        "stated_names",
        sa.Column("find_id", sa.String(length=64), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("taxon", sa.String(length=80), nullable=False),
        sa.Column("qualifier", sa.String(length=32), nullable=False),
        sa.Column("stated_by", sa.Text(), nullable=False),
        sa.Column("stated_on", sa.String(length=64), nullable=False),
        sa.Column("remarks", sa.Text(), nullable=False),
        sa.Column("id", sa.String(length=64), nullable=False),
        sa.Column("created_at", sa.String(length=32), nullable=False),
        sa.Column("deleted_at", sa.String(length=32), nullable=True),
        sa.ForeignKeyConstraint(
            ["find_id"],
            ["finds.id"],
        ),
        sa.PrimaryKeyConstraint("id"),
    )
    with op.batch_alter_table("stated_names", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_stated_names_deleted_at"), ["deleted_at"], unique=False)
        batch_op.create_index(batch_op.f("ix_stated_names_find_id"), ["find_id"], unique=False)

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
        sa.Column("id", sa.String(length=64), nullable=False),
        sa.Column("created_at", sa.String(length=32), nullable=False),
        sa.Column("deleted_at", sa.String(length=32), nullable=True),
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
    with op.batch_alter_table("expert_replies", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_expert_replies_deleted_at"), ["deleted_at"], unique=False)
        batch_op.create_index(batch_op.f("ix_expert_replies_find_id"), ["find_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_expert_replies_packet_id"), ["packet_id"], unique=False)

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
        sa.Column("id", sa.String(length=64), nullable=False),
        sa.Column("created_at", sa.String(length=32), nullable=False),
        sa.Column("deleted_at", sa.String(length=32), nullable=True),
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
    with op.batch_alter_table("looks", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_looks_deleted_at"), ["deleted_at"], unique=False)
        batch_op.create_index(batch_op.f("ix_looks_find_id"), ["find_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_looks_fruitbody_id"), ["fruitbody_id"], unique=False)

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
        sa.Column("id", sa.String(length=64), nullable=False),
        sa.Column("created_at", sa.String(length=32), nullable=False),
        sa.Column("deleted_at", sa.String(length=32), nullable=True),
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
    with op.batch_alter_table("photos", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_photos_deleted_at"), ["deleted_at"], unique=False)
        batch_op.create_index(batch_op.f("ix_photos_find_id"), ["find_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_photos_sha256"), ["sha256"], unique=False)

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
        sa.Column("id", sa.String(length=64), nullable=False),
        sa.Column("created_at", sa.String(length=32), nullable=False),
        sa.Column("deleted_at", sa.String(length=32), nullable=True),
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
    with op.batch_alter_table("signatures", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_signatures_deleted_at"), ["deleted_at"], unique=False)
        batch_op.create_index(batch_op.f("ix_signatures_find_id"), ["find_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_signatures_person_id"), ["person_id"], unique=False)

    op.create_table(
        "batch_parts",
        sa.Column("batch_id", sa.String(length=64), nullable=False),
        sa.Column("fruitbody_id", sa.String(length=64), nullable=False),
        sa.Column("signature_id", sa.String(length=64), nullable=False),
        sa.Column("id", sa.String(length=64), nullable=False),
        sa.Column("created_at", sa.String(length=32), nullable=False),
        sa.Column("deleted_at", sa.String(length=32), nullable=True),
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
    with op.batch_alter_table("batch_parts", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_batch_parts_batch_id"), ["batch_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_batch_parts_deleted_at"), ["deleted_at"], unique=False)
        batch_op.create_index(batch_op.f("ix_batch_parts_fruitbody_id"), ["fruitbody_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_batch_parts_signature_id"), ["signature_id"], unique=False)

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
        sa.Column("id", sa.String(length=64), nullable=False),
        sa.Column("created_at", sa.String(length=32), nullable=False),
        sa.Column("deleted_at", sa.String(length=32), nullable=True),
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
    with op.batch_alter_table("spore_prints", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_spore_prints_deleted_at"), ["deleted_at"], unique=False)
        batch_op.create_index(batch_op.f("ix_spore_prints_find_id"), ["find_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_spore_prints_fruitbody_id"), ["fruitbody_id"], unique=False)


def downgrade() -> None:
    """Drop them."""
    with op.batch_alter_table("spore_prints", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_spore_prints_fruitbody_id"))
        batch_op.drop_index(batch_op.f("ix_spore_prints_find_id"))
        batch_op.drop_index(batch_op.f("ix_spore_prints_deleted_at"))

    op.drop_table("spore_prints")
    with op.batch_alter_table("batch_parts", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_batch_parts_signature_id"))
        batch_op.drop_index(batch_op.f("ix_batch_parts_fruitbody_id"))
        batch_op.drop_index(batch_op.f("ix_batch_parts_deleted_at"))
        batch_op.drop_index(batch_op.f("ix_batch_parts_batch_id"))

    op.drop_table("batch_parts")
    with op.batch_alter_table("signatures", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_signatures_person_id"))
        batch_op.drop_index(batch_op.f("ix_signatures_find_id"))
        batch_op.drop_index(batch_op.f("ix_signatures_deleted_at"))

    op.drop_table("signatures")
    with op.batch_alter_table("photos", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_photos_sha256"))
        batch_op.drop_index(batch_op.f("ix_photos_find_id"))
        batch_op.drop_index(batch_op.f("ix_photos_deleted_at"))

    op.drop_table("photos")
    with op.batch_alter_table("looks", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_looks_fruitbody_id"))
        batch_op.drop_index(batch_op.f("ix_looks_find_id"))
        batch_op.drop_index(batch_op.f("ix_looks_deleted_at"))

    op.drop_table("looks")
    with op.batch_alter_table("expert_replies", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_expert_replies_packet_id"))
        batch_op.drop_index(batch_op.f("ix_expert_replies_find_id"))
        batch_op.drop_index(batch_op.f("ix_expert_replies_deleted_at"))

    op.drop_table("expert_replies")
    with op.batch_alter_table("stated_names", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_stated_names_find_id"))
        batch_op.drop_index(batch_op.f("ix_stated_names_deleted_at"))

    op.drop_table("stated_names")
    with op.batch_alter_table("fruitbodies", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_fruitbodies_find_id"))
        batch_op.drop_index(batch_op.f("ix_fruitbodies_deleted_at"))

    op.drop_table("fruitbodies")
    if op.get_bind().dialect.name == "sqlite":
        op.drop_index("find_words_by_day", "find_words")

    op.drop_table("find_words")
    with op.batch_alter_table("expert_packets", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_expert_packets_find_id"))
        batch_op.drop_index(batch_op.f("ix_expert_packets_deleted_at"))

    op.drop_table("expert_packets")
    with op.batch_alter_table("determinations", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_determinations_find_id"))

    op.drop_table("determinations")
    with op.batch_alter_table("finds", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_finds_place_id"))
        batch_op.drop_index(batch_op.f("ix_finds_finder_id"))
        batch_op.drop_index(batch_op.f("ix_finds_deleted_at"))
        batch_op.drop_index(batch_op.f("ix_finds_class_id"))
        batch_op.drop_index("finds_by_standing")
        batch_op.drop_index("finds_by_origin")
        batch_op.drop_index("finds_by_day")

    op.drop_table("finds")
    with op.batch_alter_table("class_members", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_class_members_person_id"))
        batch_op.drop_index(batch_op.f("ix_class_members_deleted_at"))
        batch_op.drop_index(batch_op.f("ix_class_members_class_id"))

    op.drop_table("class_members")
    with op.batch_alter_table("confirmations", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_confirmations_person_id"))
        batch_op.drop_index(batch_op.f("ix_confirmations_deleted_at"))

    op.drop_table("confirmations")
    with op.batch_alter_table("classes", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_classes_deleted_at"))

    op.drop_table("classes")
    op.drop_table("settings")
    with op.batch_alter_table("places", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_places_deleted_at"))

    op.drop_table("places")
    with op.batch_alter_table("people", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_people_deleted_at"))

    op.drop_table("people")
    with op.batch_alter_table("events", schema=None) as batch_op:
        batch_op.drop_index("events_since")
        batch_op.drop_index("events_of")

    op.drop_table("events")
    with op.batch_alter_table("batches", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_batches_deleted_at"))

    op.drop_table("batches")
