"""Whether a part is new, used, rebuilt or reconditioned; what was sold before is new."""

from django.db import migrations, models

from shop.ledger import LiftTriggers, SetTriggers


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
    ]
