"""Put the triggers in force that keep recorded and issued rows."""

from django.db import migrations

from shop.ledger import SetTriggers


class Migration(migrations.Migration):
    dependencies = [("shop", "0001_initial")]

    operations = [SetTriggers()]
