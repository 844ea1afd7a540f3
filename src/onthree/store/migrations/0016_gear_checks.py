from django.db import migrations, models

DONE = models.CharField(
    choices=[
        ("used", "used"),
        ("cleaned", "cleaned"),
        ("inspected", "inspected"),
        ("lubricated", "lubricated"),
        ("charged", "charged"),
        ("repaired", "repaired"),
        ("found ready", "found ready"),
        ("found not ready", "found not ready"),
    ]
)


class Migration(migrations.Migration):
    dependencies = [
        ("store", "0015_time_out"),
    ]

    operations = [
        migrations.AlterField(model_name="historicalupkeep", name="done", field=DONE),
        migrations.AlterField(model_name="upkeep", name="done", field=DONE),
    ]
