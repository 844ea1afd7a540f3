from django.db import migrations, models

ENDS = [f"{kind}_{end}_s" for kind in ("neutral", "nod", "turn") for end in ("from", "to")]


def carry_neutral(apps, schema_editor):
    """What stood with a measuring stands with its first film."""
    for job in apps.get_model("store", "MeasureJob").objects.exclude(neutral_to_s=None).order_by("pk"):
        films = apps.get_model("store", "Recording").objects.filter(run_id=job.run_id, code=job.recordings[0])
        films.update(neutral_from_s=job.neutral_from_s, neutral_to_s=job.neutral_to_s)


class Migration(migrations.Migration):
    dependencies = [
        ("store", "0017_films_and_their_queue"),
    ]

    operations = [
        *(
            migrations.AddField(model_name=name, name=end, field=models.FloatField(blank=True, null=True))
            for name in ("recording", "historicalrecording")
            for end in ENDS
        ),
        migrations.RunPython(carry_neutral, migrations.RunPython.noop),
        migrations.RemoveField(model_name="measurejob", name="neutral_from_s"),
        migrations.RemoveField(model_name="measurejob", name="neutral_to_s"),
    ]
