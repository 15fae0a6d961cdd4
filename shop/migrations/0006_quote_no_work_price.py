"""What is due where the owner chooses no work: survey, opening and closing up."""

from django.db import migrations, models

from shop.ledger import LiftTriggers, SetTriggers


class Migration(migrations.Migration):
    dependencies = [
        ("shop", "0005_changeorder_triggers"),
    ]

    operations = [
        LiftTriggers(),
        migrations.AddField(
            model_name="quote",
            name="no_work_price",
            field=models.DecimalField(
                blank=True,
                decimal_places=2,
                max_digits=12,
                null=True,
                verbose_name="if no work is chosen",
            ),
        ),
        migrations.AddConstraint(
            model_name="quote",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("no_work_price__isnull", True), ("no_work_price__gte", 0), _connector="OR"
                ),
                name="quote_no_work_not_negative",
            ),
        ),
        SetTriggers(),
    ]
