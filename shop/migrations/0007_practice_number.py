"""A shop's own number in a practice rule."""

from django.db import migrations, models

from shop.ledger import LiftTriggers, SetTriggers


class Migration(migrations.Migration):
    dependencies = [
        ("shop", "0006_quote_no_work_price"),
    ]

    operations = [
        LiftTriggers(),
        migrations.AddField(
            model_name="practicesetting",
            name="number",
            field=models.DecimalField(blank=True, decimal_places=6, max_digits=12, null=True),
        ),
        migrations.AddConstraint(
            model_name="practicesetting",
            constraint=models.CheckConstraint(
                condition=models.Q(("number__isnull", True), ("number__gt", 0), _connector="OR"),
                name="practice_number_above_zero",
            ),
        ),
        SetTriggers(),
    ]
