from django.apps.registry import Apps
from django.db import migrations
from django.db.backends.base.schema import BaseDatabaseSchemaEditor


def fill(apps: Apps, schema_editor: BaseDatabaseSchemaEditor) -> None:
    """One row, with the values that the model gives."""
    policy = apps.get_model("field", "FieldPolicy")
    if not policy.objects.exists():
        policy.objects.create()


class Migration(migrations.Migration):
    dependencies = [("field", "0001_initial")]
    operations = [migrations.RunPython(fill, migrations.RunPython.noop)]
