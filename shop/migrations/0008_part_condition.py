"""Whether a part is new, used, rebuilt or reconditioned; what was sold before is new."""

from django.db import migrations, models
from django.db.backends.base.schema import BaseDatabaseSchemaEditor
from django.db.migrations.exceptions import IrreversibleError
from django.db.migrations.state import StateApps

from shop.ledger import LiftTriggers, SetTriggers

TOLD_IN = ("Product", "QuoteLine", "ChangeLine", "InvoiceLine")


def keep_what_was_told(apps: StateApps, schema_editor: BaseDatabaseSchemaEditor) -> None:
    """Without the column a part that was sold as used would be one that was sold as new."""
    counts = {name: apps.get_model("shop", name).objects for name in TOLD_IN}
    told = {name: rows.exclude(condition="new").count() for name, rows in counts.items()}
    if any(told.values()):
        held = ", ".join(f"{name} {count}" for name, count in told.items() if count)
        raise IrreversibleError(
            f"Not taken back: rows say that a part is used, rebuilt or reconditioned ({held}), and "
            "would say no more. Stay at this version, or restore a backup from before it."
        )


class Migration(migrations.Migration):
    dependencies = [
        ("shop", "0007_practice_number"),
    ]

    operations = [
        LiftTriggers(),
        migrations.AddField(
            model_name="changeline",
            name="condition",
            field=models.CharField(
                choices=[
                    ("new", "New"),
                    ("used", "Used"),
                    ("rebuilt", "Rebuilt"),
                    ("reconditioned", "Reconditioned"),
                ],
                default="new",
                max_length=13,
            ),
        ),
        migrations.AddField(
            model_name="invoiceline",
            name="condition",
            field=models.CharField(
                choices=[
                    ("new", "New"),
                    ("used", "Used"),
                    ("rebuilt", "Rebuilt"),
                    ("reconditioned", "Reconditioned"),
                ],
                default="new",
                max_length=13,
            ),
        ),
        migrations.AddField(
            model_name="product",
            name="condition",
            field=models.CharField(
                choices=[
                    ("new", "New"),
                    ("used", "Used"),
                    ("rebuilt", "Rebuilt"),
                    ("reconditioned", "Reconditioned"),
                ],
                default="new",
                max_length=13,
                verbose_name="condition",
            ),
        ),
        migrations.AddField(
            model_name="quoteline",
            name="condition",
            field=models.CharField(
                choices=[
                    ("new", "New"),
                    ("used", "Used"),
                    ("rebuilt", "Rebuilt"),
                    ("reconditioned", "Reconditioned"),
                ],
                default="new",
                max_length=13,
            ),
        ),
        migrations.AddConstraint(
            model_name="changeline",
            constraint=models.CheckConstraint(
                condition=models.Q(("condition__in", ["new", "used", "rebuilt", "reconditioned"])),
                name="changeline_condition_known",
            ),
        ),
        migrations.AddConstraint(
            model_name="invoiceline",
            constraint=models.CheckConstraint(
                condition=models.Q(("condition__in", ["new", "used", "rebuilt", "reconditioned"])),
                name="invoiceline_condition_known",
            ),
        ),
        migrations.AddConstraint(
            model_name="product",
            constraint=models.CheckConstraint(
                condition=models.Q(("condition__in", ["new", "used", "rebuilt", "reconditioned"])),
                name="product_condition_known",
            ),
        ),
        migrations.AddConstraint(
            model_name="quoteline",
            constraint=models.CheckConstraint(
                condition=models.Q(("condition__in", ["new", "used", "rebuilt", "reconditioned"])),
                name="line_condition_known",
            ),
        ),
        SetTriggers(),
        # The last here is the first when it is taken back: nothing is dropped before it is asked.
        migrations.RunPython(migrations.RunPython.noop, keep_what_was_told),
    ]
