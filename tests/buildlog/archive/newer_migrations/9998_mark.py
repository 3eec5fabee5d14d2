"""Add a column to every reading, fill it from what is there, and index it."""

from pathlib import Path

from django.db import migrations, models
from django.db.models.functions import Concat

from buildlog import migrations as ours

LAST = sorted(path.stem for path in Path(ours.__path__[0]).glob("[0-9]*.py"))[-1]


def fill(apps, schema_editor):
    readings = apps.get_model("buildlog", "Reading").objects.using(schema_editor.connection.alias)
    readings.update(mark=Concat(models.Value("was "), "typed"))


class Migration(migrations.Migration):
    dependencies = [("buildlog", LAST)]
    operations = [
        migrations.AddField("reading", "mark", models.CharField(default="", max_length=50)),
        migrations.RunPython(fill, migrations.RunPython.noop),
        migrations.AddIndex("reading", models.Index(fields=["mark"], name="reading_mark")),
    ]
