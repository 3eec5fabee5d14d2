from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('buildlog', '0008_photo_work'),
    ]

    operations = [
        migrations.AddField(
            model_name='plangirth',
            name='lined_off_nm',
            field=models.BigIntegerField(blank=True, null=True),
        ),
    ]
