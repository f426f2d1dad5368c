from django.apps.registry import Apps
from django.db import migrations
from django.db.backends.base.schema import BaseDatabaseSchemaEditor

ROLES = [
    ("coordinator", "Coordinator"),
    ("crew_lead", "Crew lead"),
    ("pesticide_supervisor", "Pesticide supervisor"),
    ("finance", "Finance"),
    ("administrator", "Administrator"),
]


def fill(apps: Apps, schema_editor: BaseDatabaseSchemaEditor) -> None:
    role = apps.get_model("common", "Role")
    for code, name in ROLES:
        role.objects.get_or_create(code=code, defaults={"name": name})


class Migration(migrations.Migration):
    dependencies = [("common", "0001_initial")]
    # Backwards nothing is taken away: a user may hold a role by then, and 0001 drops the table anyway.
    operations = [migrations.RunPython(fill, migrations.RunPython.noop)]
