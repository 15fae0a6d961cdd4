"""Keys of the hashes of personal texts that the audit log holds."""

import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("shop", "0002_ledger_triggers"),
    ]

    operations = [
        migrations.CreateModel(
            name="SealKey",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("subject_kind", models.CharField(max_length=40)),
                ("subject_id", models.CharField(max_length=60)),
                ("key", models.CharField(blank=True, max_length=64)),
                ("erased_at", models.DateTimeField(blank=True, null=True)),
                (
                    "yard",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="shop.yard",
                    ),
                ),
            ],
            options={
                "constraints": [
                    models.UniqueConstraint(
                        fields=("subject_kind", "subject_id"), name="sealkey_once"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(
                                ("erased_at__isnull", True), models.Q(("key", ""), _negated=True)
                            ),
                            models.Q(("erased_at__isnull", False), ("key", "")),
                            _connector="OR",
                        ),
                        name="sealkey_erased_is_empty",
                    ),
                ],
            },
        ),
    ]
