"""Put the triggers in force that keep offered and decided change orders with their lines."""

from django.db import migrations

from shop.ledger import LiftTriggers, SetTriggers


class Migration(migrations.Migration):
    dependencies = [("shop", "0004_survey_fuel_seen")]

    operations = [LiftTriggers(), SetTriggers()]
