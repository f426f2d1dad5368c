from django.apps.registry import Apps
from django.db import migrations
from django.db.backends.base.schema import BaseDatabaseSchemaEditor

# Only the ground-cover form does not fruit: "fruits only on climbing plants" (of Euonymus fortunei; Missouri Department
# of Conservation slides, http://www.slideshare.net/mdc_online/euonymus-fortunei-small-copy).
GROWTH_FORMS = [
    ("ground cover", "Ground cover", False),
    ("climbing", "Climbing", True),
    ("sprawling", "Sprawling over fences, rock or logs", True),
    ("shrub", "Shrub", True),
    ("herb", "Herb", True),
]


def fill(apps: Apps, schema_editor: BaseDatabaseSchemaEditor) -> None:
    growth_form = apps.get_model("sites", "GrowthForm")
    for code, name, fruits in GROWTH_FORMS:
        growth_form.objects.get_or_create(code=code, defaults={"name": name, "fruits": fruits})


class Migration(migrations.Migration):
    dependencies = [("sites", "0001_initial")]
    # Backwards nothing is taken away: a survey may use a form by then, and 0001 drops the table anyway.
    operations = [migrations.RunPython(fill, migrations.RunPython.noop)]
