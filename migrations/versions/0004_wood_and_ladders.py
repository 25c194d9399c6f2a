"""Moisture, hazards and photos of blanks, own species, tone ladders, finish coats."""

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "own_species",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("key", sa.String(length=60), nullable=False),
        sa.Column("name", sa.String(length=60), nullable=False),
        sa.Column("botanical", sa.String(length=100), nullable=False),
        sa.Column("radial", sa.Double(), nullable=True),
        sa.Column("tangential", sa.Double(), nullable=True),
        sa.Column("hardness", sa.Double(), nullable=True),
        sa.Column("specific_gravity", sa.Double(), nullable=True),
        sa.Column("bare", sa.Double(), nullable=True),
        sa.Column("burnt", sa.Double(), nullable=True),
        sa.Column("resinous", sa.String(), nullable=False),
        sa.Column("irritant", sa.String(), nullable=False),
        sa.Column("source", sa.String(), nullable=False),
        sa.Column("added_at", sa.DateTime(), nullable=False),
        sa.CheckConstraint("key <> '' and name <> ''", name=op.f("ck_own_species_named")),
        sa.CheckConstraint(
            "bare is null or bare between 0 and 100", name=op.f("ck_own_species_bare")
        ),
        sa.CheckConstraint(
            "bare is null or burnt is null or burnt < bare",
            name=op.f("ck_own_species_burnt_darker"),
        ),
        sa.CheckConstraint(
            "burnt is null or burnt between 0 and 100", name=op.f("ck_own_species_burnt")
        ),
        sa.CheckConstraint(
            "hardness is null or hardness > 0", name=op.f("ck_own_species_hardness")
        ),
        sa.CheckConstraint(
            "radial is null or radial between 0 and 30", name=op.f("ck_own_species_radial")
        ),
        sa.CheckConstraint(
            "specific_gravity is null or (specific_gravity > 0 and specific_gravity < 1.6)",
            name=op.f("ck_own_species_specific_gravity"),
        ),
        sa.CheckConstraint(
            "tangential is null or tangential between 0 and 30",
            name=op.f("ck_own_species_tangential"),
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_own_species")),
        sa.UniqueConstraint("key", name=op.f("uq_own_species_key")),
    )
    op.create_table(
        "blank_condition",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("blank_id", sa.Integer(), nullable=False),
        sa.Column("kind", sa.String(length=40), nullable=False),
        sa.Column("note", sa.String(), nullable=False),
        sa.Column("noted_at", sa.DateTime(), nullable=False),
        sa.CheckConstraint("kind <> ''", name=op.f("ck_blank_condition_named")),
        sa.ForeignKeyConstraint(
            ["blank_id"], ["blank.id"], name=op.f("fk_blank_condition_blank_id"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_blank_condition")),
        sa.UniqueConstraint("blank_id", "kind", name=op.f("uq_blank_condition_blank_id_kind")),
    )
    with op.batch_alter_table("blank_condition", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_blank_condition_blank_id"), ["blank_id"], unique=False)

    op.create_table(
        "blank_photo",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("blank_id", sa.Integer(), nullable=False),
        sa.Column("original_sha256", sa.String(length=64), nullable=False),
        sa.Column("added_at", sa.DateTime(), nullable=False),
        sa.ForeignKeyConstraint(
            ["blank_id"], ["blank.id"], name=op.f("fk_blank_photo_blank_id"), ondelete="CASCADE"
        ),
        sa.ForeignKeyConstraint(
            ["original_sha256"], ["original.sha256"], name=op.f("fk_blank_photo_original_sha256")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_blank_photo")),
    )
    with op.batch_alter_table("blank_photo", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_blank_photo_blank_id"), ["blank_id"], unique=False)

    op.create_table(
        "climate",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("client_id", sa.Integer(), nullable=True),
        sa.Column("celsius", sa.Double(), nullable=False),
        sa.Column("humidity", sa.Double(), nullable=False),
        sa.Column("noted_at", sa.DateTime(), nullable=False),
        sa.CheckConstraint("celsius between -40 and 70", name=op.f("ck_climate_celsius")),
        sa.CheckConstraint("humidity > 0 and humidity < 100", name=op.f("ck_climate_humidity")),
        sa.ForeignKeyConstraint(["client_id"], ["client.id"], name=op.f("fk_climate_client_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_climate")),
    )
    with op.batch_alter_table("climate", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_climate_client_id"), ["client_id"], unique=False)

    op.create_table(
        "moisture_reading",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("blank_id", sa.Integer(), nullable=False),
        sa.Column("moisture", sa.Double(), nullable=False),
        sa.Column("taken_at", sa.DateTime(), nullable=False),
        sa.Column("note", sa.String(), nullable=False),
        sa.CheckConstraint("moisture between 0 and 200", name=op.f("ck_moisture_reading_moisture")),
        sa.ForeignKeyConstraint(
            ["blank_id"],
            ["blank.id"],
            name=op.f("fk_moisture_reading_blank_id"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_moisture_reading")),
    )
    with op.batch_alter_table("moisture_reading", schema=None) as batch_op:
        batch_op.create_index(
            batch_op.f("ix_moisture_reading_blank_id"), ["blank_id"], unique=False
        )

    op.create_table(
        "tone_ladder",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("species", sa.String(length=60), nullable=False),
        sa.Column("tip", sa.String(length=80), nullable=False),
        sa.Column("heat_unit", sa.String(length=12), nullable=False),
        sa.Column("bare", sa.Double(), nullable=True),
        sa.Column("original_sha256", sa.String(length=64), nullable=True),
        sa.Column("note", sa.String(), nullable=False),
        sa.Column("burned_at", sa.DateTime(), nullable=False),
        sa.CheckConstraint("heat_unit <> ''", name=op.f("ck_tone_ladder_heat_unit")),
        sa.CheckConstraint("tip <> ''", name=op.f("ck_tone_ladder_with_tip")),
        sa.CheckConstraint(
            "bare is null or bare between 0 and 100", name=op.f("ck_tone_ladder_bare")
        ),
        sa.ForeignKeyConstraint(
            ["original_sha256"], ["original.sha256"], name=op.f("fk_tone_ladder_original_sha256")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_tone_ladder")),
    )
    with op.batch_alter_table("tone_ladder", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_tone_ladder_species"), ["species"], unique=False)

    op.create_table(
        "finish_coat",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("commission_id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("product", sa.String(length=120), nullable=False),
        sa.Column("dry_hours", sa.Double(), nullable=False),
        sa.Column("next_coat_hours", sa.Double(), nullable=False),
        sa.CheckConstraint("product <> ''", name=op.f("ck_finish_coat_named")),
        sa.CheckConstraint("dry_hours > 0", name=op.f("ck_finish_coat_dry_hours")),
        sa.CheckConstraint("next_coat_hours > 0", name=op.f("ck_finish_coat_next_coat_hours")),
        sa.ForeignKeyConstraint(
            ["commission_id"], ["commission.id"], name=op.f("fk_finish_coat_commission_id")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_finish_coat")),
        sa.UniqueConstraint(
            "commission_id", "position", name=op.f("uq_finish_coat_commission_id_position")
        ),
    )
    with op.batch_alter_table("finish_coat", schema=None) as batch_op:
        batch_op.create_index(
            batch_op.f("ix_finish_coat_commission_id"), ["commission_id"], unique=False
        )

    op.create_table(
        "hazard_override",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("blank_id", sa.Integer(), nullable=False),
        sa.Column("commission_id", sa.Integer(), nullable=False),
        sa.Column("hazard", sa.String(length=40), nullable=False),
        sa.Column("reason", sa.String(), nullable=False),
        sa.Column("made_at", sa.DateTime(), nullable=False),
        sa.CheckConstraint("hazard <> ''", name=op.f("ck_hazard_override_named")),
        sa.CheckConstraint("reason <> ''", name=op.f("ck_hazard_override_with_reason")),
        sa.ForeignKeyConstraint(
            ["blank_id"], ["blank.id"], name=op.f("fk_hazard_override_blank_id"), ondelete="CASCADE"
        ),
        sa.ForeignKeyConstraint(
            ["commission_id"], ["commission.id"], name=op.f("fk_hazard_override_commission_id")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_hazard_override")),
        sa.UniqueConstraint(
            "blank_id",
            "commission_id",
            "hazard",
            name=op.f("uq_hazard_override_blank_id_commission_id_hazard"),
        ),
    )
    with op.batch_alter_table("hazard_override", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_hazard_override_blank_id"), ["blank_id"], unique=False)
        batch_op.create_index(
            batch_op.f("ix_hazard_override_commission_id"), ["commission_id"], unique=False
        )

    op.create_table(
        "ladder_patch",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("ladder_id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("heat", sa.Double(), nullable=False),
        sa.Column("strokes", sa.Double(), nullable=False),
        sa.Column("speed", sa.Double(), nullable=True),
        sa.Column("lightness", sa.Double(), nullable=False),
        sa.Column(
            "read",
            sa.Enum(
                "eye", "photo", name="read", native_enum=False, create_constraint=True, length=16
            ),
            nullable=False,
        ),
        sa.CheckConstraint("lightness between 0 and 100", name=op.f("ck_ladder_patch_lightness")),
        sa.CheckConstraint("speed is null or speed > 0", name=op.f("ck_ladder_patch_speed")),
        sa.CheckConstraint("strokes > 0", name=op.f("ck_ladder_patch_strokes")),
        sa.ForeignKeyConstraint(
            ["ladder_id"],
            ["tone_ladder.id"],
            name=op.f("fk_ladder_patch_ladder_id"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_ladder_patch")),
        sa.UniqueConstraint(
            "ladder_id", "position", name=op.f("uq_ladder_patch_ladder_id_position")
        ),
    )
    with op.batch_alter_table("ladder_patch", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_ladder_patch_ladder_id"), ["ladder_id"], unique=False)

    # Written out: a batch on SQLite would rebuild the table without its other checks.
    op.execute(
        "ALTER TABLE blank ADD COLUMN grain VARCHAR(16) CONSTRAINT ck_blank_grain"
        " CHECK (grain IN ('along-width', 'along-height', 'end-grain'))"
    )


def downgrade() -> None:
    op.execute("ALTER TABLE blank DROP COLUMN grain")

    with op.batch_alter_table("ladder_patch", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_ladder_patch_ladder_id"))

    op.drop_table("ladder_patch")
    with op.batch_alter_table("hazard_override", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_hazard_override_commission_id"))
        batch_op.drop_index(batch_op.f("ix_hazard_override_blank_id"))

    op.drop_table("hazard_override")
    with op.batch_alter_table("finish_coat", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_finish_coat_commission_id"))

    op.drop_table("finish_coat")
    with op.batch_alter_table("tone_ladder", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_tone_ladder_species"))

    op.drop_table("tone_ladder")
    with op.batch_alter_table("moisture_reading", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_moisture_reading_blank_id"))

    op.drop_table("moisture_reading")
    with op.batch_alter_table("climate", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_climate_client_id"))

    op.drop_table("climate")
    with op.batch_alter_table("blank_photo", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_blank_photo_blank_id"))

    op.drop_table("blank_photo")
    with op.batch_alter_table("blank_condition", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_blank_condition_blank_id"))

    op.drop_table("blank_condition")
    op.drop_table("own_species")
