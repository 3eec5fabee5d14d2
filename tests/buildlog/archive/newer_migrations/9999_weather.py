"""Add a column to every session, and fill it."""

from django.db import migrations, models


def fill(apps, schema_editor):
    sessions = apps.get_model("buildlog", "Session")
    sessions.objects.using(schema_editor.connection.alias).update(weather="not noted")


class Migration(migrations.Migration):
    dependencies = [("buildlog", "9998_mark")]
    operations = [
        migrations.AddField("session", "weather", models.CharField(default="", max_length=20)),
        migrations.RunPython(fill, migrations.RunPython.noop),
    ]
