from django.db import migrations, models


class Migration(migrations.Migration):
    """A part may carry two classes at once, X1/Y2."""

    dependencies = [("inventory", "0001_drawers_and_ledger")]

    operations = [
        migrations.AlterField(
            model_name="part",
            name="safety_class",
            field=models.CharField(blank=True, max_length=8),
        ),
    ]
