"""Add a column that no version has, and fill it from what is there."""

from pathlib import Path

from django.db import migrations, models

from buildlog import migrations as ours

LAST = sorted(path.stem for path in Path(ours.__path__[0]).glob("[0-9]*.py"))[-1]


def fill(apps, schema_editor):
    sessions = apps.get_model("buildlog", "Session")
    sessions.objects.using(schema_editor.connection.alias).update(weather="not noted")


class Migration(migrations.Migration):
    dependencies = [("buildlog", LAST)]
    operations = [
        migrations.AddField("session", "weather", models.CharField(default="", max_length=20)),
        migrations.RunPython(fill, migrations.RunPython.noop),
    ]
