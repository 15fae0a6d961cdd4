"""Whether fuel was smelled or seen, as asked before a survey."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("shop", "0003_sealkey"),
    ]

    operations = [
        migrations.AddField(
            model_name="survey",
            name="fuel_seen",
            field=models.CharField(
                choices=[("yes", "Yes"), ("no", "No"), ("unasked", "Not asked yet")],
                default="unasked",
                max_length=8,
                verbose_name="fuel smelled or seen",
            ),
        ),
    ]
