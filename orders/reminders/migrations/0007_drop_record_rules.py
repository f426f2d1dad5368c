from django.db import migrations


class Migration(migrations.Migration):
    dependencies = [("reminders", "0006_copy_record_rules")]
    operations = [migrations.DeleteModel(name="RecordRule")]
